package documents

// grid is a table of texts that runs over as many pages as it takes, its heads at the
// top of each. Cells are never cut short: a long text takes more lines.
type grid struct {
	*folio
	cols []gridColumn
	size float64
	page *page // whose top has the heads
}

// gridColumn is a column: the key of its head, its share of the width, its side.
type gridColumn struct {
	head  string
	share float64
	right bool
}

const gridPad = 1.6 // mm, right of each cell

// grid begins a table; its heads come with the first row.
func (f *folio) grid(cols []gridColumn) *grid { return &grid{folio: f, cols: cols, size: f.least} }

// row sets one row.
func (g *grid) row(texts ...string) {
	cells, lines := make([][]string, len(g.cols)), 1
	for i, c := range g.cols {
		cells[i] = fullWrap(texts[i], g.inner()*c.share-gridPad, g.size, plain)
		lines = max(lines, len(cells[i]))
	}
	// A row higher than what is left goes over the end, line by line.
	for at := 0; at < lines; at++ {
		g.need(leading(g.size) + 1.2)
		if g.page != g.folio.page {
			g.heads()
		}
		g.line1(cells, at)
	}
	g.y += 0.2 // the last line has its own room below
	g.line(fine, point{margin, g.y}, point{g.W - margin, g.y})
	g.y += 0.9
}

// line1 sets the line with a number of all cells that have it.
func (g *grid) line1(cells [][]string, at int) {
	x, base := margin, g.y+capHeight*g.size*mmPerPoint+0.1*g.size*mmPerPoint
	for i, c := range g.cols {
		w := g.inner() * c.share
		if at < len(cells[i]) {
			if c.right {
				g.putRight(x+w-2*gridPad, base, g.size, plain, cells[i][at])
			} else {
				g.put(x, base, g.size, plain, cells[i][at])
			}
		}
		x += w
	}
	g.y += leading(g.size)
}

// heads sets the heads of the columns at the top of what follows.
func (g *grid) heads() {
	g.need(16)
	x, high := margin, 0.0
	for _, c := range g.cols {
		w := g.inner() * c.share
		lines := fullWrap(g.Say(c.head), w-gridPad, g.least, bold)
		high = max(high, float64(len(lines))*leading(g.least))
		if c.right {
			for i, l := range lines {
				g.putRight(x+w-2*gridPad, g.y+capHeight*g.least*mmPerPoint+float64(i)*leading(g.least), g.least, bold, l)
			}
		} else {
			g.putLines(x, g.y-0.1*g.least*mmPerPoint, g.least, bold, lines)
		}
		x += w
	}
	g.y += high + 1
	g.line(heavy, point{margin, g.y}, point{g.W - margin, g.y})
	g.y += 1
	g.page = g.folio.page
}

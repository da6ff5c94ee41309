package documents

import (
	"strconv"

	"sapwell/engine/why"
)

// stopPages say why a tree is left alone. No mark, dose or depth stands on them.
func (c *composer) stopPages() []*page {
	c.page = newPage(c.paper)
	y := c.stopBanner(c.head() + 4)
	pages := []*page{c.page}
	n := 0
	for _, sev := range []why.Severity{why.Block, why.Ask, why.Warn, why.Note} {
		for _, f := range c.s.Findings {
			if f.Severity != sev {
				continue
			}
			n++
			if need := c.reason(n, f, y, false); need > c.H-margin-34 {
				c.page = newPage(c.paper)
				pages = append(pages, c.page)
				y = c.smallHead() + 3
			}
			y = c.reason(n, f, y, true)
		}
	}
	c.stopHands(y + 4)
	return pages
}

func (c *composer) stopBanner(y float64) float64 {
	const high = 25.0
	c.rect(margin, y, c.inner(), high, 1.6, noFill)
	c.centreFit(c.W/2, y+13.4, c.inner()-10, 34, 16, bold, c.Say("stop.title"))
	c.centreFit(c.W/2, y+21, c.inner()-10, 12, 9, plain, c.Say("stop.no_marks"))
	return y + high + 7
}

// reason sets one finding with its number, or only measures it, and returns
// where it ends. Those that stop are larger than those that go along.
func (c *composer) reason(n int, f why.Finding, y float64, draw bool) float64 {
	q := *c
	if !draw {
		q.page = newPage(c.paper)
	}
	size := 13.0
	if f.Severity == why.Block {
		size = 16
	}
	sentence, remedy := c.Finding(f)
	q.put(margin, y+(capHeight+0.1)*size*mmPerPoint, size, bold, strconv.Itoa(n))
	x, w := margin+11, c.inner()-11
	y = q.putWrapped(x, y, w, size, bold, sentence)
	return q.putWrapped(x, y+0.6, w, size-2, plain, remedy) + 4.5
}

// stopHands rules the rest of the page for notes, with who and when at the foot.
func (c *composer) stopHands(y float64) {
	foot := c.H - margin - handsHeight
	c.ruling(margin, c.inner(), y, foot-5, c.Say("sheet.notes"))
	for i, key := range []string{"stop.seen", "stop.told", "stop.again"} {
		c.hand(float64(i)/3, 1.0/3, foot, c.Say(key), "")
	}
}

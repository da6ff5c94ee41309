package marks

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func BenchmarkSolve(b *testing.B) {
	for _, c := range caseFile(b) {
		b.Run(c.Name, func(b *testing.B) {
			var s Solver
			in := c.instance()
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Solve(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// grown is a made-up ring of n marks over N ticks: an arc of a fifth of the even
// gap for every fourth mark and a fissure for every mark.
func grown(n, ticks int) Instance {
	rng := rand.New(rand.NewPCG(uint64(n), uint64(ticks)))
	even := ticks / n
	in := Instance{N: ticks, Count: n, MinGap: max(1, even/2), Weight: 2, Cap: max(1, even/6)}
	for range (n + 3) / 4 {
		a := rng.IntN(ticks)
		in.Forbidden = append(in.Forbidden, [2]int{a, (a + even/5) % ticks})
	}
	for range n {
		in.Fissures = append(in.Fissures, rng.IntN(ticks))
	}
	return in
}

// growth is the two ways a ring grows: more marks at 48 ticks each, and finer
// ticks at 16 marks.
var growth = []struct {
	name   string
	points [][2]int // marks, ticks
}{
	{"48 ticks a mark, n marks", [][2]int{{4, 192}, {8, 384}, {16, 768}, {32, 1536}, {64, 3072}, {128, 6144}, {256, 12288}, {400, 19200}}},
	{"16 marks, N ticks", [][2]int{{16, 192}, {16, 384}, {16, 768}, {16, 1536}, {16, 3072}, {16, 6144}, {16, 12288}, {16, 19200}}},
}

func BenchmarkGrowth(b *testing.B) {
	for i, way := range growth {
		for _, p := range way.points {
			b.Run(fmt.Sprintf("way=%d/n=%d/N=%d", i+1, p[0], p[1]), func(b *testing.B) {
				var s Solver
				in := grown(p[0], p[1])
				for b.Loop() {
					if _, err := s.Solve(in); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// TestPlotGrowth writes the picture of BenchmarkGrowth when it is asked for:
//
//	SAPWELL_PLOT=doc/img/marks-growth.svg go test -run PlotGrowth ./engine/marks
//
// The path is taken from the top of the project.
func TestPlotGrowth(t *testing.T) {
	path := os.Getenv("SAPWELL_PLOT")
	if path == "" {
		t.Skip("set SAPWELL_PLOT to a file to draw the growth")
	}
	path = filepath.Join("..", "..", path)
	var s Solver
	var lines [][][2]float64
	for _, way := range growth {
		var line [][2]float64
		for _, p := range way.points {
			d := medianSolve(t, &s, grown(p[0], p[1]))
			t.Logf("n %d, N %d: %v", p[0], p[1], d)
			line = append(line, [2]float64{float64(p[1]), d.Seconds() * 1000})
		}
		lines = append(lines, line)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(growthSVG(lines)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// growthSVG draws time in ms over ticks, both axes logarithmic.
func growthSVG(lines [][][2]float64) string {
	const left, top, width, height = 70.0, 46.0, 520.0, 320.0
	const x0, x1, y0, y1 = 2.0, 4.5, -3.0, 2.0 // powers of ten
	px := func(v float64) float64 { return left + (math.Log10(v)-x0)/(x1-x0)*width }
	py := func(v float64) float64 { return top + height - (math.Log10(v)-y0)/(y1-y0)*height }
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 440" font-family="sans-serif" font-size="13" fill="#222">
<rect width="640" height="440" fill="#fff"/>
<text x="70" y="26" font-size="16">Time to place the marks of one ring, proven optimal (median)</text>
`)
	grid := func(x, y, u, v float64) {
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="#ddd"/>`+"\n", x, y, u, v)
	}
	for _, v := range []float64{100, 1000, 10000} {
		grid(px(v), top, px(v), top+height)
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">%g</text>`+"\n", px(v), top+height+18, v)
	}
	for _, v := range []float64{0.001, 0.01, 0.1, 1, 10, 100} {
		grid(left, py(v), left+width, py(v))
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="end">%g ms</text>`+"\n", left-8, py(v)+4, v)
	}
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" text-anchor="middle">ticks on the ring, N</text>`+"\n", left+width/2, top+height+40)
	// a guide of slope 1 through the first point
	first := lines[0][0]
	fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="#888" stroke-dasharray="4 4"/>`+"\n",
		px(first[0]), py(first[1]), px(first[0]*100), py(first[1]*100))
	fmt.Fprintf(&b, `<text x="%.1f" y="%.1f" fill="#666">dashed: in proportion to N</text>`+"\n", left+44, top+58)
	for i, colour := range []string{"#1b6e3c", "#a3470b"}[:len(lines)] {
		var pts []string
		for _, p := range lines[i] {
			pts = append(pts, fmt.Sprintf("%.1f,%.1f", px(p[0]), py(p[1])))
			fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="3.5" fill="%s"/>`+"\n", px(p[0]), py(p[1]), colour)
		}
		fmt.Fprintf(&b, `<polyline points="%s" fill="none" stroke="%s" stroke-width="2"/>`+"\n", strings.Join(pts, " "), colour)
		y := top + 20 + 19*float64(i)
		fmt.Fprintf(&b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" stroke="%s" stroke-width="3"/>`+"\n", left+12, y-4, left+36, y-4, colour)
		fmt.Fprintf(&b, `<text x="%.1f" y="%.1f">%s</text>`+"\n", left+44, y, growth[i].name)
	}
	b.WriteString("</svg>\n")
	return b.String()
}

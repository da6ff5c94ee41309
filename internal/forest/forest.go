// Package forest answers: what does a long tree list look like? It invents one
// from a seed, for benchmarks: the same seed gives the same bytes. Nothing in it
// was measured; shares and sizes are round figures that look like a town's.
package forest

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strconv"
)

// heading has the columns that Write fills.
const heading = "tag,stem,species,girth,girth_height,girth2,girth2_height,ground,zero," +
	"defects,wounds,fissures,bark,canopy_loss,pest,label,bloom_over,last_treated,site\n"

// kind is one of the mix.
type kind struct {
	name     string
	share    int     // of a hundred
	girth    float64 // median, in
	fissured bool
	multi    int // of a hundred trees, how many have several stems
	pest     string
	label    string
}

// mix adds up to a hundred. The labels are those of the demo.
var mix = [...]kind{
	{"Fraxinus pennsylvanica", 34, 62, true, 4, "Agrilus planipennis", "demo-a"},
	{"Fraxinus americana", 18, 66, true, 3, "Agrilus planipennis", "demo-a"},
	{"Fraxinus nigra", 4, 38, true, 2, "Agrilus planipennis", "demo-a"},
	{"Quercus rubra", 10, 78, true, 1, "Phytophthora ramorum", "demo-b"},
	{"Quercus alba", 6, 74, true, 1, "Phytophthora ramorum", "demo-b"},
	{"Fagus grandifolia", 4, 60, false, 2, "Phytophthora ramorum", "demo-b"},
	{"Betula papyrifera", 7, 34, false, 35, "Agrilus anxius", "demo-c"},
	{"Betula nigra", 4, 40, true, 30, "Agrilus anxius", "demo-c"},
	{"Acer rubrum", 6, 52, false, 8, "Lycorma delicatula", "demo-c"},
	{"Acer saccharinum", 4, 84, true, 15, "Lycorma delicatula", "demo-c"},
	{"Tsuga canadensis", 3, 44, false, 1, "Adelges tsugae", "demo-c"},
}

// The spread of girths within a kind: a log-normal one whose middle two thirds
// lie between 0.7 and 1.4 of the median.
const (
	girthSpread   = 0.35
	least, widest = 14.0, 180.0 // in
)

var (
	faces   = [...]string{"N side", "street side", "path side", "blue dot"}
	defects = [...]string{"canker", "cavity", "crack", "dead cambium", "girdling root"}
	canopy  = [...]int{0, 5, 5, 10, 10, 10, 15, 15, 20, 25, 30, 40, 55}
)

// Write writes a list of n trees as CSV. Trees of several stems take several
// rows, so there are a few per cent more rows than trees.
func Write(w io.Writer, n int, seed uint64) error {
	out := bufio.NewWriterSize(w, 64<<10)
	if _, err := out.WriteString(heading); err != nil {
		return err
	}
	g := grower{r: rand.New(rand.NewPCG(seed, 0))}
	for i := range n {
		if _, err := out.Write(g.tree(i + 1)); err != nil {
			return err
		}
	}
	return out.Flush()
}

// grower makes the rows of one tree after the other.
type grower struct {
	r   *rand.Rand
	row []byte
}

// tree returns the rows of tree number i; the next call overwrites them.
func (g *grower) tree(i int) []byte {
	k, stems := g.kind(), 1
	if g.r.IntN(100) < k.multi {
		stems = 2 + g.r.IntN(3)
	}
	g.row = g.row[:0]
	site := 1 + (i-1)/250 // a street of 250 trees, in the order they stand
	for s := range stems {
		name := ""
		if stems > 1 {
			name = strconv.Itoa(s + 1)
		}
		g.stem(k, i, name, stems, s == 0, site)
	}
	return g.row
}

func (g *grower) kind() kind {
	left := g.r.IntN(100)
	for _, k := range mix {
		if left -= k.share; left < 0 {
			return k
		}
	}
	panic("forest: shares do not add up to a hundred")
}

// stem appends one row. What belongs to the tree stands in its first row only.
func (g *grower) stem(k kind, tree int, name string, stems int, first bool, site int) {
	size := k.girth * math.Exp(girthSpread*g.r.NormFloat64()) / math.Sqrt(float64(stems))
	around := math.Round(2*min(max(size, least), widest)) / 2 // the tape is read to half an inch
	g.add("T%07d,%s,%s,%g in,12 in,", tree, name, k.name, around)
	height := "54 in"
	if k.label == "demo-c" {
		height = "1.30 m" // where that label measures
	}
	g.add("%g in,%s,level,%s,", math.Round(2*around*(0.84+0.08*g.r.Float64()))/2, height, faces[g.r.IntN(len(faces))])
	g.defects(around)
	treated := first && g.r.IntN(100) < 30
	day := fmt.Sprintf("%d-06-%02d", 2019+g.r.IntN(6), 1+g.r.IntN(28))
	g.wounds(around, treated, day)
	g.fissures(k, around)
	g.bark(around)
	if !first {
		g.add(",,,,,\n")
		return
	}
	g.add("%d,%s,%s,yes,", canopy[g.r.IntN(len(canopy))], k.pest, k.label)
	if treated {
		g.add("%s; ; %s", day, k.label)
	}
	g.add(",Street %d\n", site)
}

func (g *grower) add(format string, args ...any) { g.row = fmt.Appendf(g.row, format, args...) }

// defects gives one tree in eight a stretch that is unfit.
func (g *grower) defects(around float64) {
	if g.r.IntN(8) == 0 {
		from := math.Floor(around * g.r.Float64())
		to := math.Mod(from+2+math.Floor(around/10*g.r.Float64()), math.Floor(around))
		g.add("%g-%g in %s", from, to, defects[g.r.IntN(len(defects))])
	}
	g.add(",")
}

// wounds gives a treated tree a ring of old holes six inches apart.
func (g *grower) wounds(around float64, treated bool, day string) {
	if treated {
		start := 6 * g.r.Float64()
		for at := start; at < around; at += 6 {
			if at > start {
				g.add("; ")
			}
			g.add("%.1f in %s w 3/16 in h %d in", at, day, 6+g.r.IntN(9))
		}
	}
	g.add(",")
}

// fissures lie three to eight inches apart in kinds that have them.
func (g *grower) fissures(k kind, around float64) {
	if k.fissured {
		between := ""
		for at := 5 * g.r.Float64(); at < around; at += 3 + 5*g.r.Float64() {
			g.add("%s%.1f", between, math.Floor(10*at)/10)
			between = "; "
		}
		g.add(" in")
	}
	g.add(",")
}

// bark is probed at two places in one tree of five.
func (g *grower) bark(around float64) {
	if g.r.IntN(5) == 0 {
		thick := 0.1 + around/150
		g.add("%.1f in: %.2f in; %.1f in: %.2f in", around/8, thick, around/2, thick*1.2)
	}
	g.add(",")
}

package documents

import (
	"strings"

	"sapwell/engine/why"
)

// note is one caution: what is found on this tree, or what holds for all.
type note struct {
	lead string // bold, in front
	body string
}

// noteSize is the type of the cautions in points.
const noteSize = 9.5

// notes are the findings in order of weight, then the cautions that stand on
// every sheet.
func (c *composer) notes() []note {
	var ns []note
	for _, sev := range []why.Severity{why.Block, why.Warn, why.Ask, why.Note} {
		for _, f := range c.s.Findings {
			if f.Severity == sev {
				sentence, remedy := c.Finding(f)
				ns = append(ns, note{c.Say("severity."+string(sev)) + ":", strings.TrimSpace(sentence + " " + remedy)})
			}
		}
	}
	return append(ns, c.standing()...)
}

// standing are the cautions of every job.
func (c *composer) standing() []note {
	ppe := c.Say("caution.ppe.none")
	if len(c.s.PPE) > 0 {
		ppe = c.Say("caution.ppe", why.T("ppe", strings.Join(c.s.PPE, ", ")))
	}
	rei := c.Say("caution.rei.none")
	if c.s.REI != "" {
		rei = c.Say("caution.rei", why.T("rei", c.s.REI))
	}
	var ns []note
	for _, b := range []struct{ lead, body string }{
		{"label", c.Say("caution.label")}, {"pressure", c.Say("caution.pressure")}, {"ppe", ppe},
		{"rei", rei}, {"wires", c.Say("caution.wires")}, {"open", c.Say("caution.open")}, {"eye", c.Say("caution.eye")},
	} {
		ns = append(ns, note{c.Say("caution." + b.lead + ".lead"), b.body})
	}
	return ns
}

// noteLine is a line of a note ready to set: the first has the lead.
type noteLine struct{ lead, body string }

// lines breaks a note at a width; the lead takes room on the first line.
func (n note) lines(w float64) []noteLine {
	lead := width(printable(n.lead), bold, noteSize) + 1.2
	all := wrapAfter(n.body, lead, w, noteSize)
	out := make([]noteLine, len(all))
	for i, l := range all {
		out[i].body = l
	}
	out[0].lead = n.lead
	return out
}

// wrapAfter breaks s at w with less room on the first line.
func wrapAfter(s string, lead, w, size float64) []string {
	first, rest := "", strings.Fields(printable(s))
	for len(rest) > 0 && width(strings.TrimSpace(first+" "+rest[0]), plain, size) <= w-lead {
		first = strings.TrimSpace(first + " " + rest[0])
		rest = rest[1:]
	}
	return append([]string{first}, wrap(strings.Join(rest, " "), w, size, plain)...)
}

// Notes stand in two columns.
func noteColumn(inner float64) float64 { return (inner - gutter) / 2 }

const noteGap = 0.9

func (n note) height(w float64) float64 { return float64(len(n.lines(w)))*leading(noteSize) + noteGap }

// columns splits notes in order so that the taller column is as short as it can be.
func columns(ns []note, w float64) (left int, high float64) {
	total := 0.0
	for _, n := range ns {
		total += n.height(w)
	}
	best, sum := total, 0.0
	left = len(ns)
	for i, n := range ns {
		sum += n.height(w)
		if h := max(sum, total-sum); h < best {
			best, left = h, i+1
		}
	}
	return left, best
}

// notesHeight is the room that drawNotes takes, its title included.
func notesHeight(ns []note, inner float64) float64 {
	if len(ns) == 0 {
		return 0
	}
	_, high := columns(ns, noteColumn(inner))
	return high + 6.4
}

// fitNotes is as many notes as fit a height, and the rest. The first is always
// taken, so that paging ends.
func (c *composer) fitNotes(ns []note, room float64) (now, rest []note) {
	n := len(ns)
	for n > 1 && notesHeight(ns[:n], c.inner()) > room {
		n--
	}
	return ns[:n], ns[n:]
}

func (c *composer) drawNotes(ns []note, y float64) {
	if len(ns) == 0 {
		return
	}
	w := noteColumn(c.inner())
	y = c.title(margin, y, c.inner(), c.Say("sheet.cautions"))
	left, _ := columns(ns, w)
	c.noteColumn(ns[:left], margin, y, w)
	c.noteColumn(ns[left:], margin+w+gutter, y, w)
}

func (c *composer) noteColumn(ns []note, x, y, w float64) {
	for _, n := range ns {
		for _, l := range n.lines(w) {
			base := y + capHeight*noteSize*mmPerPoint
			at := x
			if l.lead != "" {
				at += c.put(x, base, noteSize, bold, l.lead) + 1.2
			}
			c.put(at, base, noteSize, plain, l.body)
			y += leading(noteSize)
		}
		y += noteGap
	}
}

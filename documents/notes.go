package documents

import (
	"slices"
	"strings"

	"sapwell/engine/why"
)

// note is one caution: what is found on this tree, or what holds for all.
type note struct {
	lead string // bold, in front
	body string
}

// notes are the warnings and questions of this tree, the cautions that stand on
// every sheet, and last what only informs: the end is what a full page pushes
// to the next.
func (c *composer) notes() []note {
	ns := slices.Concat(c.found(why.Warn), c.found(why.Ask), c.open())
	return slices.Concat(ns, c.standing(), c.found(why.Note))
}

// open are the questions nobody has answered yet, in one note: each is a
// sentence, and the crew knows how to look.
func (c *composer) open() []note {
	var list []string
	for _, f := range c.s.Open {
		sentence, _ := c.Finding(f)
		list = append(list, "☐"+sentence)
	}
	if len(list) == 0 {
		return nil
	}
	return []note{{c.Say("sheet.open"), strings.Join(list, " ")}}
}

// found are the findings of one severity.
func (c *composer) found(sev why.Severity) []note {
	var ns []note
	for _, f := range c.s.Findings {
		if f.Severity == sev {
			sentence, remedy := c.Finding(f)
			ns = append(ns, note{c.Say("severity."+string(sev)) + ":", strings.TrimSpace(sentence + " " + remedy)})
		}
	}
	return ns
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
func (n note) lines(w, size float64) []noteLine {
	lead := width(printable(n.lead), bold, size) + 1.2
	all := wrapAfter(n.body, lead, w, size)
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

func (n note) height(w, size float64) float64 {
	return float64(len(n.lines(w, size)))*leading(size) + noteGap
}

// columns splits notes in order so that the taller column is as short as it can be.
func columns(ns []note, w, size float64) (left int, high float64) {
	total := 0.0
	for _, n := range ns {
		total += n.height(w, size)
	}
	best, sum := total, 0.0
	left = len(ns)
	for i, n := range ns {
		sum += n.height(w, size)
		if h := max(sum, total-sum); h < best {
			best, left = h, i+1
		}
	}
	return left, best
}

// notesHeight is the room that drawNotes takes, its title included.
func notesHeight(size float64, ns []note, inner float64) float64 {
	if len(ns) == 0 {
		return 0
	}
	_, high := columns(ns, noteColumn(inner), size)
	return high + 7.2
}

func (c *composer) drawNotes(ns []note, y float64) {
	if len(ns) == 0 {
		return
	}
	w := noteColumn(c.inner())
	y = c.title(margin, y, c.inner(), c.Say("sheet.cautions"))
	left, _ := columns(ns, w, c.noteSize)
	c.noteColumn(ns[:left], margin, y, w)
	c.noteColumn(ns[left:], margin+w+gutter, y, w)
}

func (c *composer) noteColumn(ns []note, x, y, w float64) {
	size := c.noteSize
	for _, n := range ns {
		for _, l := range n.lines(w, c.noteSize) {
			base := y + capHeight*size*mmPerPoint
			at := x
			if l.lead != "" {
				at += c.put(x, base, size, bold, l.lead) + 1.2
			}
			c.put(at, base, size, plain, l.body)
			y += leading(size)
		}
		y += noteGap
	}
}

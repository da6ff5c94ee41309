package actions

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// OpenVisit is a visit that is not closed, as a crew on its round sees it.
type OpenVisit struct {
	ID        journal.ID    `json:"id"`
	Grounds   journal.ID    `json:"grounds"`
	Name      string        `json:"name"` // of the grounds
	Day       entries.Date  `json:"day"`
	Certified journal.ID    `json:"certified"`
	Opened    int64         `json:"opened"` // ms since 1970
	Trees     []TreeOnRound `json:"trees"`
	Flags     int           `json:"flags,omitempty"` // what does not fit together in it
}

// TreeOnRound is how far the work on a tree has come. Units are out until they are
// lifted or recorded as lost; Drained and Stuck are of those that are out.
type TreeOnRound struct {
	Tree    journal.ID     `json:"tree"`
	Tag     string         `json:"tag"`
	Where   string         `json:"where,omitempty"`
	Planned int            `json:"planned"` // units
	Holes   int            `json:"holes"`
	Seated  int            `json:"seated"`
	Drained int            `json:"drained"`
	Stuck   int            `json:"stuck"`
	Lifted  int            `json:"lifted"`
	Lost    int            `json:"lost"`
	Out     int            `json:"out"`
	Oldest  int64          `json:"oldest,omitempty"` // when the first of those out was seated; ms since 1970
	Running int            `json:"running"`          // of those out, neither empty nor stuck
	Since   int64          `json:"since,omitempty"`  // when the first of those running was pressurised, or else seated
	P50     *quantity.Span `json:"p50,omitempty"`    // after which half of such units are empty, by the plan
	P90     *quantity.Span `json:"p90,omitempty"`
}

// openEnd comes after the keys of all open visits.
const openEnd = "open}"

// openVisits lists the visits that are not closed, up to a key.
func openVisits(v Reader, to string) (open []*views.Visit, err error) {
	err = each(&desk{Reader: v}, entries.OfVisit, "open|", to, func(v *views.Visit) error {
		open = append(open, v)
		return nil
	})
	return open, err
}

// Round answers what is to be walked to: the open visits up to a day, those left
// open on earlier days first; the zero Date is all there are. It reads views and
// plans and folds nothing.
func Round(v Reader, day entries.Date) ([]OpenVisit, error) {
	to := openEnd
	if !day.IsZero() {
		to = "open|" + day.String() + "}"
	}
	visits, err := openVisits(v, to)
	if err != nil {
		return nil, err
	}
	d := &desk{Reader: v}
	round := make([]OpenVisit, 0, len(visits))
	for _, visit := range visits {
		o, err := d.onRound(visit)
		if err != nil {
			return nil, err
		}
		round = append(round, o)
	}
	return round, nil
}

func (d *desk) onRound(v *views.Visit) (OpenVisit, error) {
	id, err := idOf(v.ID)
	if err != nil {
		return OpenVisit{}, err
	}
	f := v.Facts
	o := OpenVisit{ID: id, Grounds: f.Grounds, Day: f.Day, Certified: f.Certified, Opened: v.Opened, Trees: []TreeOnRound{}, Flags: len(v.Flags)}
	g, err := d.grounds(f.Grounds, "grounds")
	if err != nil && !isRefusal(err) {
		return OpenVisit{}, err
	}
	if err == nil {
		o.Name = g.Facts.Name
	}
	trees := treesOf(v)
	for i := range trees {
		if err := d.nameTree(&trees[i], v); err != nil {
			return OpenVisit{}, err
		}
	}
	o.Trees = trees
	return o, nil
}

// treesOf counts the units of a visit by tree: those of the jobs first, then any
// that an entry speaks of though they are not among them.
func treesOf(v *views.Visit) []TreeOnRound {
	at := map[journal.ID]int{}
	trees := []TreeOnRound{}
	of := func(id journal.ID) *TreeOnRound {
		i, ok := at[id]
		if !ok {
			i = len(trees)
			at[id], trees = i, append(trees, TreeOnRound{Tree: id})
		}
		return &trees[i]
	}
	for _, job := range v.Facts.Jobs {
		of(job.Tree)
	}
	for _, b := range v.Holes {
		of(b.Facts.Tree).Holes++
	}
	for _, u := range v.Units {
		of(u.Tree).count(u)
	}
	return trees
}

func (t *TreeOnRound) count(u views.Unit) {
	t.Seated++
	switch {
	case u.Lifted != 0:
		t.Lifted++
		return
	case u.Lost != 0:
		t.Lost++
		return
	case u.Drained != 0:
		t.Drained++
	case u.Stuck != 0:
		t.Stuck++
	default:
		t.Running++
		if since := cmp.Or(u.Pressurised, u.Seated); t.Since == 0 || since < t.Since {
			t.Since = since
		}
	}
	t.Out++
	if t.Oldest == 0 || u.Seated < t.Oldest {
		t.Oldest = u.Seated
	}
}

// listedTree is what a round needs of the view of a tree. There are many, and
// their holes and measures are not read.
type listedTree struct {
	Amended []views.Mark `json:"amended"`
	Facts   struct {
		Tag   string `json:"tag"`
		Where string `json:"where"`
	} `json:"facts"`
}

// nameTree adds what a crew finds a tree by, and what its plan said.
func (d *desk) nameTree(t *TreeOnRound, v *views.Visit) error {
	row, ok, err := d.View(entries.Subject{Kind: entries.OfTree, ID: t.Tree.String()})
	if err != nil || !ok {
		return err // it is known from units only; its own entries are still to come
	}
	var tree listedTree
	if err := json.Unmarshal(row.State, &tree); err != nil {
		return fmt.Errorf("view of tree %s: %w", t.Tree, err)
	}
	t.Tag, t.Where = tree.Facts.Tag, tree.Facts.Where
	job, ok := jobOf(v, t.Tree)
	if !ok {
		return nil
	}
	body, err := d.planBody(tree.Amended, job.Plan)
	if err != nil {
		return err
	}
	t.glance(body)
	return nil
}

// planBody is the text of a plan as it is understood now, or nil. It was checked
// when it came into the journal and is not checked again: a round has many.
func (d *desk) planBody(marks []views.Mark, plan journal.ID) ([]byte, error) {
	after, _, err := amendedTo(d, marks, plan, entries.Plan{}.Kind())
	if err != nil || after != nil {
		return after, err
	}
	e, ok, err := d.Entry(plan)
	if err != nil || !ok || e.Kind != (entries.Plan{}).Kind() {
		return nil, err
	}
	return e.Body, nil
}

// glance takes from a plan what a round shows: the units, and the forecast of the
// stem that takes longest. A plan that says neither shows neither. Of the text only
// the stems are read: the whole answer, which stands before them, is long. It is
// quoted, so that no bare quotes are in it and these are the stems of the plan.
func (t *TreeOnRound) glance(body []byte) {
	from := bytes.LastIndex(body, []byte(`"stems":[`))
	if from < 0 {
		return
	}
	var plan struct {
		Stems []struct {
			Units int   `json:"units"`
			P50   int64 `json:"p50_ms"`
			P90   int64 `json:"p90_ms"`
		} `json:"stems"`
	}
	if json.Unmarshal(append([]byte("{"), body[from:]...), &plan) != nil {
		return
	}
	longest := int64(0)
	for _, s := range plan.Stems {
		t.Planned += s.Units
		if s.P90 > longest {
			longest = s.P90
			t.P50, t.P90 = span(s.P50), span(s.P90)
		}
	}
}

func span(ms int64) *quantity.Span {
	s := quantity.Span(ms) * millisecond
	return &s
}

package pocket

import (
	"slices"
	"strings"
	"time"

	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/store"
	"sapwell/views"
)

type askedInput struct {
	Visit journal.ID `json:"visit"`
	Tree  journal.ID `json:"tree,omitzero"` // left out: all of the visit's
	Now   int64      `json:"now"`
}

// askedFact is something that the record of this work still misses.
type askedFact struct {
	Code     string   `json:"code"` // such as MISSING:client.address
	Profiles []string `json:"profiles"`
	Sentence string   `json:"sentence"`
	Field    string   `json:"field,omitempty"` // left out of what is late
	Name     string   `json:"name,omitempty"`  // of the field, in words
	Step     string   `json:"step,omitempty"`  // that brings it; "bags": the end of the day
	On       *subject `json:"on,omitempty"`    // of what it can be told, with record.tell
}

type askedList struct {
	Facts []askedFact `json:"facts"`
}

// asked lists what the profiles of the place miss in the records of a tree, or of all
// trees of a visit, and where each can be mended. What the work will bring by itself is not missing while the work
// goes on.
func (p *Pocket) asked(in askedInput) (list askedList, err error) {
	list.Facts = []askedFact{}
	err = p.read(func(v store.Reader) error {
		facts, err := p.factsOf(v, in)
		if err != nil {
			return err
		}
		brought := progress(facts.Visit)
		for _, r := range records.Coming(facts) {
			for _, f := range records.Lacks(r) {
				list.add(p.factAsked(f, in, facts), brought)
			}
		}
		return nil
	})
	return list, err
}

// factsOf gathers what the records are made of.
func (p *Pocket) factsOf(v store.Reader, in askedInput) (records.Facts, error) {
	g, err := gather.At(v, p.org, time.UnixMilli(in.Now).In(p.zone))
	if err != nil {
		return records.Facts{}, err
	}
	visit, err := gather.View[*views.Visit](g, entries.OfVisit, in.Visit)
	if err != nil {
		return records.Facts{}, err
	}
	if visit == nil {
		return records.Facts{}, refuse("pocket.unknown", "visit", "there is no such visit here", why.T("kind", string(entries.OfVisit)))
	}
	if in.Tree != (journal.ID{}) {
		visit = onlyOf(*visit, in.Tree)
	}
	return g.Present(visit)
}

// onlyOf is a visit as if there were only one tree to it.
func onlyOf(v views.Visit, tree journal.ID) *views.Visit {
	v.Facts.Jobs = slices.DeleteFunc(slices.Clone(v.Facts.Jobs), func(j entries.Job) bool { return j.Tree != tree })
	v.Holes = slices.DeleteFunc(slices.Clone(v.Holes), func(h views.Bored) bool { return h.Facts.Tree != tree })
	v.Units = slices.DeleteFunc(slices.Clone(v.Units), func(u views.Unit) bool { return u.Tree != tree })
	if v.Closed != nil {
		closed := *v.Closed
		closed.Trees = slices.DeleteFunc(slices.Clone(closed.Trees), func(t entries.Treated) bool { return t.Tree != tree })
		v.Closed = &closed
	}
	return &v
}

// add takes in what is missing now, each once.
func (l *askedList) add(f askedFact, brought map[string]bool) {
	known := slices.ContainsFunc(l.Facts, func(o askedFact) bool { return o.Code == f.Code })
	if comes, is := brought[f.Step]; !known && (comes || !is) {
		l.Facts = append(l.Facts, f)
	}
}

// progress tells of the steps that bring facts by being done whether they were.
func progress(v *views.Visit) map[string]bool {
	out := slices.ContainsFunc(v.Units, func(u views.Unit) bool { return u.Lifted == 0 && u.Lost == 0 })
	closed := v.Closed != nil
	return map[string]bool{
		"drill": closed || len(v.Holes) > 0,
		"seat":  closed || len(v.Units) > 0,
		"lift":  closed || len(v.Units) > 0 && !out,
		"close": closed,
		"bags":  closed,
	}
}

// factAsked says what a finding is, and where it is mended.
func (p *Pocket) factAsked(f records.Found, in askedInput, facts records.Facts) askedFact {
	f.Text = f.Says.In(p.say.Lang)
	out := askedFact{Code: f.Code, Profiles: f.Profiles}
	f.Profiles = p.named(f.Profiles)
	key, blanks := f.Phrase(p.say.Field)
	out.Sentence = p.say.Say(key, blanks...)
	if f.Kind == records.Late {
		return out
	}
	out.Field, out.Name = f.What, p.say.Field(f.What)
	of := belongs(f.What)
	if out.Step = of.step; of.step == "" {
		out.On = p.teller(of.told, in, facts)
	}
	if f.Kind == records.Invalid && !toldAlready(f.What, facts) {
		out.On = nil // an entry has it so, and what is told does not take its place
	}
	return out
}

// named are the names of profiles as far as a line on a phone has room: the place.
func (p *Pocket) named(ids []string) (names []string) {
	for _, id := range ids {
		name, _, _ := strings.Cut(records.NameOf(id).In(p.say.Lang), ":")
		names = append(names, name)
	}
	return names
}

// teller is the thing of a kind that has to do with the tree.
func (p *Pocket) teller(kind entries.SubjectKind, in askedInput, facts records.Facts) *subject {
	switch kind {
	case entries.OfOrg:
		return &subject{kind, p.org.String()}
	case entries.OfGrounds:
		return &subject{kind, facts.Visit.Facts.Grounds.String()}
	case entries.OfTree:
		if in.Tree == (journal.ID{}) {
			return nil
		}
		return &subject{kind, in.Tree.String()}
	}
	return &subject{entries.OfVisit, in.Visit.String()}
}

// toldAlready reports whether somebody told a fact of the thing where it is told.
func toldAlready(field string, facts records.Facts) bool {
	all := []views.Common{facts.Org.Common, facts.Grounds.Common, facts.Visit.Common}
	for _, t := range facts.Trees {
		all = append(all, t.Common)
	}
	return slices.ContainsFunc(all, func(c views.Common) bool { return c.Told[field].Text != "" })
}

// belonging is which step brings a fact or, where none does, of what it is told.
type belonging struct {
	fields string // beginnings, between spaces
	step   string
	told   entries.SubjectKind // "": of the visit
}

// belongs finds it.
func belongs(field string) belonging {
	for _, b := range []belonging{
		{fields: "target. crop.bbch", step: "look"},
		{fields: "tree.circumference tree.measured_at_height", step: "measure"},
		{fields: "applied_by operator.name holes.", step: "drill"},
		{fields: "time.start product.lot units.installed amount.filled amount.rate", step: "seat"},
		{fields: "time.end units.retrieved units.lost units.unreconciled", step: "lift"},
		{fields: "amount.total amount.left recorded_at electronic_at signature", step: "close"},
		{fields: "waste.", step: "bags"},
		{fields: "business.", told: entries.OfOrg},
		{fields: "client. property_operator. site. operator_id_no site_id_no", told: entries.OfGrounds},
		{fields: "operator.", told: entries.OfVisit},
		{fields: "tree. crop.", told: entries.OfTree},
	} {
		for beginning := range strings.FieldsSeq(b.fields) {
			if strings.HasPrefix(field, beginning) {
				return b
			}
		}
	}
	return belonging{}
}

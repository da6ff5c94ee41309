package pile

import (
	"encoding/binary"
	"time"

	"sapwell/engine/label"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/views"
)

// gatherView is the view of a thing, or nil.
func gatherView[S views.State](p *pile, kind entries.SubjectKind, id journal.ID) (S, error) {
	return gather.View[S](p.g, kind, id)
}

func find(people []*views.Person, id string) *views.Person {
	for _, p := range people {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// timeOf is when something was: as told, or else as the id was made.
func timeOf(at int64, id string) time.Time {
	var made journal.ID
	if at == 0 && made.UnmarshalText([]byte(id)) == nil {
		at = int64(binary.BigEndian.Uint64(append([]byte{0, 0}, made[:6]...)))
	}
	return time.UnixMilli(at)
}

// rows calls do with every view of a kind.
func rows[S views.State](p *pile, kind entries.SubjectKind, do func(S) error) error {
	start, after := "", ""
	for {
		list, err := p.from.List(kind, start, "", after, 200)
		if err != nil || len(list) == 0 {
			return err
		}
		for _, row := range list {
			start, after = row.Key, row.Subject.ID
			state, err := views.Read(row)
			if err != nil {
				return err
			}
			if s, ok := state.(S); ok {
				if err := do(s); err != nil {
					return err
				}
			}
		}
	}
}

// labelNamed is the newest version of a label.
func (p *pile) labelNamed(name string) (label.Label, error) {
	if l, ok := p.labels[name]; ok {
		return l, nil
	}
	var newest *views.Label
	err := rows(p, entries.OfLabel, func(l *views.Label) error {
		if l.Facts.Name == name && (newest == nil || newest.Facts.Version.Before(l.Facts.Version)) {
			newest = l
		}
		return nil
	})
	if err != nil || newest == nil {
		return label.Label{}, err
	}
	version, err := p.g.Label(ownID(newest.ID))
	p.labels[name] = whole(version)
	return p.labels[name], err
}

// ownID is the id of a view as a journal has it.
func ownID(text string) (id journal.ID) {
	if id.UnmarshalText([]byte(text)) != nil {
		return journal.ID{}
	}
	return id
}

// plan reads a plan and the label it was made by.
func (p *pile) plan(id journal.ID) (plan entries.Plan, by records.LabelVersion, ok bool, err error) {
	e, there, err := p.from.Entry(id)
	if err != nil || !there {
		return plan, by, false, err
	}
	read, err := entries.Read(e)
	if err != nil {
		return plan, by, false, nil // of a newer program: nothing is said of it
	}
	if plan, ok = read.Body.(entries.Plan); !ok {
		return plan, by, false, nil
	}
	by, err = p.g.Label(plan.Label)
	return plan, by, err == nil, err
}

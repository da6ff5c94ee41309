package mem

import (
	"cmp"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// present is the views of a ledger.
type present struct {
	rows  map[entries.Subject]views.Row
	told  map[entries.Subject][]views.Place // what speaks of a subject, in the order of folding
	order map[entries.SubjectKind][]listed
}

// listed is where a row stands in the list of its kind.
type listed struct{ key, id string }

func (a listed) compare(b listed) int {
	return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.id, b.id))
}

func newPresent() present {
	return present{
		rows:  make(map[entries.Subject]views.Row),
		told:  make(map[entries.Subject][]views.Place),
		order: make(map[entries.SubjectKind][]listed),
	}
}

// about lists the subjects of an entry, each once. One of a kind or version that
// is not known here speaks of nothing that we could tell.
func about(e journal.Entry) []entries.Subject {
	read, err := entries.Read(e)
	if err != nil {
		return nil
	}
	return subjects(read)
}

func subjects(e entries.Entry) []entries.Subject {
	var once []entries.Subject
	for _, s := range e.Body.About(e.ID) {
		if !slices.Contains(once, s) {
			once = append(once, s)
		}
	}
	return once
}

// take folds entries in: all or, with an error, none. find returns an entry that
// was folded before.
func (p *present) take(added []journal.Entry, arrivals []arrival, find func(journal.Hash) (journal.Entry, bool)) error {
	fresh := make(map[entries.Subject][]views.Item)
	for i, e := range added {
		read, err := entries.Read(e)
		if err != nil {
			continue
		}
		place := views.Place{Time: arrivals[i].time, Device: e.Device, Seq: e.Seq, Hash: e.Hash()}
		for _, s := range subjects(read) {
			fresh[s] = append(fresh[s], views.Item{Entry: read, Place: place})
		}
	}
	rows := make(map[entries.Subject]views.Row, len(fresh))
	for s, items := range fresh {
		slices.SortFunc(items, func(a, b views.Item) int { return a.Place.Compare(b.Place) })
		row, err := p.fold(s, items, find)
		if err != nil {
			return err
		}
		rows[s] = row
	}
	for s, row := range rows {
		p.put(s, row, fresh[s])
	}
	return nil
}

// fold makes the row of a subject with more items.
func (p *present) fold(s entries.Subject, items []views.Item, find func(journal.Hash) (journal.Entry, bool)) (views.Row, error) {
	row, ok := p.rows[s]
	if ok {
		next, ok, err := views.Extend(row, items)
		if ok || err != nil {
			return next, err
		}
	}
	all := slices.Clone(items)
	for _, place := range p.told[s] {
		e, _ := find(place.Hash)
		read, err := entries.Read(e)
		if err != nil {
			return views.Row{}, err
		}
		all = append(all, views.Item{Entry: read, Place: place})
	}
	return views.Fold(s, all)
}

// put keeps a row, its place in the list, and what it was folded from.
func (p *present) put(s entries.Subject, row views.Row, items []views.Item) {
	if old, ok := p.rows[s]; !ok || old.Key != row.Key {
		p.move(s, old.Key, row.Key, ok)
	}
	p.rows[s] = row
	told := p.told[s]
	for _, item := range items {
		at, there := slices.BinarySearchFunc(told, item.Place, views.Place.Compare)
		if !there { // it may have been lent before
			told = slices.Insert(told, at, item.Place)
		}
	}
	p.told[s] = told
}

func (p *present) move(s entries.Subject, from, to string, listedBefore bool) {
	order := p.order[s.Kind]
	if listedBefore {
		at, _ := slices.BinarySearchFunc(order, listed{from, s.ID}, listed.compare)
		order = slices.Delete(order, at, at+1)
	}
	at, _ := slices.BinarySearchFunc(order, listed{to, s.ID}, listed.compare)
	p.order[s.Kind] = slices.Insert(order, at, listed{to, s.ID})
}

// list is Reader.List.
func (p *present) list(kind entries.SubjectKind, from, to, after string, limit int) []views.Row {
	order := p.order[kind]
	at, found := slices.BinarySearchFunc(order, listed{from, after}, listed.compare)
	if found {
		at++
	}
	var rows []views.Row
	for ; at < len(order) && len(rows) < limit && (to == "" || order[at].key < to); at++ {
		rows = append(rows, p.rows[entries.Subject{Kind: kind, ID: order[at].id}])
	}
	return rows
}

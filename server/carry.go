package server

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"slices"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// What a phone carries. A journal that is not long it carries whole; of a long one it
// gets what its day needs, with all that was ever said of it.
const (
	mostWhole   = 20_000 // entries of a journal that is carried whole
	mostTouched = 5_000  // of a longer one: the things that the latest so many speak of
	daysBack    = 30     // one's own visits that were closed since then
	carriedPage = 1_000  // entries read at a time, so that no reader is held for long
)

type packInput struct {
	Since int64 `query:"since" minimum:"0" doc:"next of the pack before; 0: the device has nothing yet"`
}

// lentLine is an entry as it is lent: see store.Held.
type lentLine struct {
	Line string `json:"line"`
	Time int64  `json:"time"`
}

func (s *Server) packRoutes() {
	op := at(http.MethodGet, "/api/pack", "pack", "journal", "what a device carries to work without a signal")
	op.Description = `Each line is {"line": an entry, byte for byte, "time": of its place in the order of folding, ms since 1970}; ` +
		`the last is {"pack": {"next": since of the next one}}. Without it the answer was cut off. ` +
		`Lines may come that the device has already. They are lent: they are no part of its own journal, and it offers them to nobody.`
	op.Responses = file("application/x-ndjson", "one line an entry, and the end")
	route(s, signedIn, op, s.pack)
}

func (s *Server) pack(_ context.Context, c caller, in *packInput) (*streamed, error) {
	return s.download("application/x-ndjson", "pack.ndjson", func(ctx context.Context, w io.Writer) error {
		p := &packer{ctx: ctx, ledger: c.ledger, me: c.Person, out: json.NewEncoder(w), sent: map[int64]bool{}}
		p.out.SetEscapeHTML(false)
		now := s.Clock().UTC()
		p.from = quantity.NewDate(now.AddDate(0, 0, -daysBack).Date())
		return p.pack(in.Since)
	}), nil
}

// packer writes one pack.
type packer struct {
	ctx    context.Context
	ledger store.Ledger
	me     journal.ID
	from   entries.Date // the oldest closed visits
	out    *json.Encoder
	sent   map[int64]bool // by number
}

func (p *packer) pack(since int64) error {
	size, err := p.ledger.Size(p.ctx)
	if err != nil {
		return err
	}
	if since > size { // of a journal that was restored since
		since = 0
	}
	switch {
	case size <= mostWhole:
		err = p.tail(since, size)
	case since > 0 && size-since <= mostWhole:
		err = p.changed(since)
	default:
		err = p.day(size)
	}
	if err != nil {
		return err
	}
	var end struct {
		Pack struct {
			Next int64 `json:"next"`
		} `json:"pack"`
	}
	end.Pack.Next = size
	return p.out.Encode(end)
}

// tail writes all entries from a number on.
func (p *packer) tail(from, size int64) error {
	for from < size {
		var page []store.Held
		err := p.ledger.Read(p.ctx, func(v store.Reader) (err error) {
			page, err = v.Since(from, carriedPage)
			return err
		})
		if err != nil {
			return err
		}
		if err := p.write(page); err != nil {
			return err
		}
		from += carriedPage
	}
	return nil
}

// changed writes what was ever said of everything that was spoken of since: of some
// of it the device may have nothing yet.
func (p *packer) changed(since int64) error {
	touched, _, err := p.ledger.Changed(p.ctx, since, mostWhole)
	if err != nil {
		return err
	}
	return p.whole(touched)
}

// day writes what a device needs that has nothing: the organisation and all that is
// not trees or work; open visits and one's own of the last weeks; and what was spoken
// of last.
func (p *packer) day(size int64) error {
	for _, kind := range []entries.SubjectKind{entries.OfOrg, entries.OfPerson, entries.OfDevice, entries.OfLabel, entries.OfLot, entries.OfGrounds} {
		err := p.kind(kind, "", "", func(views.Row) (bool, error) { return true, nil })
		if err != nil {
			return err
		}
	}
	if err := p.kind(entries.OfVisit, "open|", "open}", func(views.Row) (bool, error) { return true, nil }); err != nil {
		return err
	}
	if err := p.kind(entries.OfVisit, "closed|"+p.from.String(), "closed}", p.mine); err != nil {
		return err
	}
	touched, _, err := p.ledger.Changed(p.ctx, max(0, size-mostTouched), mostTouched)
	if err != nil {
		return err
	}
	return p.whole(touched)
}

// mine reports whether one was at a visit.
func (p *packer) mine(row views.Row) (bool, error) {
	v, err := visitOf(row)
	return err == nil && (v.Facts.Certified == p.me || slices.Contains(v.Facts.Crew, p.me)), err
}

func visitOf(row views.Row) (*views.Visit, error) {
	state, err := views.Read(row)
	v, ok := state.(*views.Visit)
	if err != nil || !ok {
		return new(views.Visit), err
	}
	return v, nil
}

// kind writes the rows of a kind that are wanted, whole.
func (p *packer) kind(kind entries.SubjectKind, from, to string, want func(views.Row) (bool, error)) error {
	for after := ""; ; {
		var rows []views.Row
		err := p.ledger.Read(p.ctx, func(v store.Reader) (err error) {
			rows, err = v.List(kind, from, to, after, mostRows)
			return err
		})
		if err != nil {
			return err
		}
		var wanted []entries.Subject
		for _, row := range rows {
			ok, err := want(row)
			if err != nil {
				return err
			}
			if ok {
				wanted = append(wanted, row.Subject)
			}
		}
		if err := p.whole(wanted); err != nil {
			return err
		}
		if len(rows) < mostRows {
			return nil
		}
		from, after = rows[len(rows)-1].Key, rows[len(rows)-1].Subject.ID
	}
}

// whole writes all that was said of things, and of the trees of visits among them.
func (p *packer) whole(things []entries.Subject) error {
	for _, s := range things {
		var told []store.Held
		var trees []entries.Subject
		err := p.ledger.Read(p.ctx, func(v store.Reader) (err error) {
			if told, err = v.Held(s); err == nil && s.Kind == entries.OfVisit {
				trees, err = treesOf(v, s)
			}
			return err
		})
		if err != nil {
			return err
		}
		if err := p.write(told); err != nil {
			return err
		}
		if err := p.whole(trees); err != nil {
			return err
		}
	}
	return nil
}

// treesOf are the trees and the grounds of a visit.
func treesOf(v store.Reader, s entries.Subject) ([]entries.Subject, error) {
	row, ok, err := v.View(s)
	if err != nil || !ok {
		return nil, err
	}
	visit, err := visitOf(row)
	if err != nil {
		return nil, err
	}
	list := []entries.Subject{{Kind: entries.OfGrounds, ID: visit.Facts.Grounds.String()}}
	for _, job := range visit.Facts.Jobs {
		list = append(list, entries.Subject{Kind: entries.OfTree, ID: job.Tree.String()})
	}
	return list, nil
}

// write sends lines that were not sent yet.
func (p *packer) write(held []store.Held) error {
	for _, h := range held {
		if p.sent[h.N] {
			continue
		}
		p.sent[h.N] = true
		if err := p.out.Encode(lentLine{string(h.Line), h.Held}); err != nil {
			return err
		}
	}
	return nil
}

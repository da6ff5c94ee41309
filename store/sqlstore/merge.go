package sqlstore

import (
	"cmp"
	"context"
	"slices"

	"sapwell/journal"
	"sapwell/store"
)

// gift is lines on their way in.
type gift struct {
	lines []*given // sound in form, by number
	store.Merged
}

// given is one line of a gift.
type given struct {
	n int // from 1
	journal.Entry
	said    saying
	checked bool  // its signature
	sig     error // what came of that

	known    bool   // the journal has it
	twin     *given // the same line above
	before   *given // the one before it in its chain, where the gift has it too
	standing standing
	fault    error
	why      string // it is set aside, "" where it is not
}

// standing is where the entry before one is kept, if the gift does not bring it.
type standing int

const (
	nowhere   standing = iota
	inJournal          // also said of the first of a chain, which follows none
	inAside
)

func (e *given) self() journal.Known {
	return journal.Known{Device: e.Device, Hash: e.Hash(), Seq: e.Seq}
}

// unpack reads the lines.
func unpack(lines [][]byte) *gift {
	type read struct {
		*given
		err error
	}
	all := parallel(lines, func(line []byte) read {
		e, err := journal.ReadEntry(line)
		if err != nil {
			return read{nil, err}
		}
		return read{&given{Entry: e, said: understand(e)}, nil}
	})
	g := new(gift)
	for i, r := range all {
		if r.err != nil {
			g.Refused = append(g.Refused, &journal.Fault{Line: i + 1, Reason: r.err})
			continue
		}
		r.n = i + 1
		g.lines = append(g.lines, r.given)
	}
	// The one before an entry has a smaller number, so it comes first.
	slices.SortStableFunc(g.lines, func(a, b *given) int { return cmp.Compare(a.Seq, b.Seq) })
	return g
}

// Merge: see store.Ledger.
func (l *ledger) Merge(ctx context.Context, lines [][]byte, at int64, admit store.Admit) (store.Merged, error) {
	g := unpack(lines)
	// Signatures take the most time: they are checked before others have to wait.
	err := l.read(ctx, func(d *desk) (err error) {
		if err = d.examine(g); err == nil {
			g.Size, err = d.size()
		}
		return err
	})
	if err != nil {
		return store.Merged{}, err
	}
	if slices.ContainsFunc(g.lines, func(e *given) bool { return !e.known }) {
		err = l.write(ctx, func(d *desk) error { return d.merge(g, at, admit) })
	} else {
		g.Known = len(g.lines)
	}
	if err != nil {
		return store.Merged{}, err
	}
	slices.SortFunc(g.Refused, func(a, b *journal.Fault) int { return cmp.Compare(a.Line, b.Line) })
	return g.Merged, nil
}

// examine holds the lines against what is here now.
func (d *desk) examine(g *gift) error {
	seen := make(map[journal.Hash]*given)
	for _, e := range g.lines {
		if e.twin = seen[e.Hash()]; e.twin != nil {
			continue
		}
		seen[e.Hash()] = e
		if e.before = seen[e.Prev]; e.before != nil && !e.before.known {
			continue // what follows something new is new
		}
		if err := d.locate(e); err != nil {
			return err
		}
	}
	keys, err := d.keysFor(g)
	if err != nil {
		return err
	}
	parallel(g.lines, func(e *given) bool {
		if !e.checked && !e.known && e.twin == nil && !e.astray() {
			e.checked, e.sig = true, e.SignedBy(keys[e.Device])
		}
		return e.checked
	})
	return nil
}

// locate finds out whether an entry is known and where the one before it is.
func (d *desk) locate(e *given) (err error) {
	if e.known, err = d.has(entryAt, d.org[:], e.Device[:], e.Seq, bytesOf(e.Hash())); err != nil || e.known {
		return err
	}
	e.standing = nowhere
	if e.Seq == 1 {
		e.standing = inJournal
		return nil
	}
	ok, err := d.has(entryAt, d.org[:], e.Device[:], e.Seq-1, e.Prev[:])
	if ok {
		e.standing = inJournal
	}
	if ok || err != nil {
		return err
	}
	if ok, err = d.has(asideAt, d.org[:], e.Device[:], e.Seq-1, e.Prev[:]); ok {
		e.standing = inAside
	}
	return err
}

const (
	entryAt = `SELECT 1 FROM entry WHERE org = $1 AND device = $2 AND seq = $3 AND hash = $4`
	asideAt = `SELECT 1 FROM aside WHERE org = $1 AND device = $2 AND seq = $3 AND hash = $4`
)

// keysFor finds the public keys of the devices of a gift: those of its own first
// entries, of devices that write here, and of first entries that were set aside.
// That a key is the device's its name shows, wherever it comes from.
func (d *desk) keysFor(g *gift) (map[journal.Hash][]byte, error) {
	keys := make(map[journal.Hash][]byte)
	for _, e := range g.lines {
		if e.Key != nil {
			keys[e.Device] = e.Key
		}
	}
	for _, e := range g.lines {
		if _, ok := keys[e.Device]; ok {
			continue
		}
		key, err := d.key(e.Device)
		if err != nil {
			return nil, err
		}
		keys[e.Device] = key
	}
	return keys, nil
}

// key is the public key of a device, nil where it is not known.
func (d *desk) key(device journal.Hash) (key []byte, err error) {
	ok, err := d.scan(`SELECT pubkey FROM device WHERE org = $1 AND device = $2`, []any{d.org[:], device[:]}, &key)
	if ok || err != nil {
		return key, err
	}
	first, _, err := d.entry(`SELECT line, hash FROM aside WHERE org = $1 AND device = $2 AND seq = 1 LIMIT 1`, d.org[:], device[:])
	return first.Key, err
}

// merge takes in what is new, sound and admitted.
func (d *desk) merge(g *gift, at int64, admit store.Admit) error {
	size, err := d.size()
	if err != nil {
		return err
	}
	// Another gift may have come in since: look again, now that none can.
	if size != g.Size || slices.ContainsFunc(g.lines, (*given).astray) {
		if err := d.examine(g); err != nil {
			return err
		}
	}
	var said []saying
	for _, e := range g.lines {
		if err := d.judge(e, admit); err != nil {
			return err
		}
		switch {
		case e.known || e.twin != nil && e.fault == nil:
			g.Known++
		case e.fault != nil:
			g.Refused = append(g.Refused, &journal.Fault{Line: e.n, ID: e.ID.String(), Reason: e.fault})
		case e.why != "":
			g.Aside = append(g.Aside, store.Aside{Device: e.Device, Seq: e.Seq, Line: e.Line, Why: e.why, Time: at})
		default:
			g.Added, said = append(g.Added, e.Entry), append(said, e.said)
		}
	}
	if err := d.putAside(g.Aside); err != nil {
		return err
	}
	if err := d.dropAside(g.Added); err != nil {
		return err
	}
	g.Size = size + int64(len(g.Added))
	return d.arrive(g.Added, said, size, at)
}

// astray tells of an entry whose predecessor was not found; it may be among those
// set aside by now.
func (e *given) astray() bool {
	return !e.known && e.twin == nil && e.before == nil && e.standing == nowhere
}

// judge finds out whether an entry is sound and may stand in the journal. Nothing
// of its gift has been taken yet, and those before it were judged before.
func (d *desk) judge(e *given, admit store.Admit) (err error) {
	switch before := e.before; {
	case e.known:
		return nil
	case e.twin != nil:
		e.fault = e.twin.fault
		return nil
	case before != nil && before.fault == nil:
		e.fault = cmp.Or(e.Follows(before.self(), true), e.sig)
	case before != nil || e.standing == nowhere:
		e.fault = e.Follows(journal.Known{}, false)
	default:
		e.fault = e.sig
	}
	switch {
	case e.fault != nil:
	case e.before != nil && e.before.why != "" || e.before == nil && e.standing == inAside:
		e.why = "after"
	case admit != nil:
		e.why, err = admit(reader{d}, e.Entry)
	}
	return err
}

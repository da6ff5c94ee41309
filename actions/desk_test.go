package actions

import (
	"cmp"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// firm is an organisation in memory in which deeds are done one after the other:
// what a deed writes is signed, kept in a journal and folded for the next.
type firm struct {
	t      testing.TB
	now    int64 // ms since 1970; goes on a second with every deed
	zone   *time.Location
	keepAt func(entries.Date, int, string, string) entries.Date
	last   journal.ID
	log    *journal.Journal
	heads  map[journal.Hash]int64 // greatest time of each chain
	items  []views.Item
	raw    []journal.Entry     // as the items
	wrote  map[string][]string // kinds that each deed wrote

	office ed25519.PrivateKey
	org    journal.ID
	boss   journal.ID // office and applicator
	app    journal.ID // applicator
	train  journal.ID // trainee under app
	look   journal.ID // inspector
}

// start is 9 June 2026, 8:00 UTC.
const start = 1780992000000

// newFirm founds an organisation with one person of each role.
func newFirm(t testing.TB) *firm {
	t.Helper()
	f := &firm{t: t, now: start, log: &journal.Journal{}, heads: map[journal.Hash]int64{}, wrote: map[string][]string{}, office: testKey(1)}
	made, err := Found(f.moment(journal.ID{}), FoundInput{
		Name: "Example Tree Care (fictional)", Country: "US", Region: "OR", Zone: "America/Los_Angeles", KeepYears: 3,
		Person: "Alma Beispiel", Roles: []entries.Role{entries.Applicator}, Device: "office",
	})
	if err != nil {
		t.Fatal(err)
	}
	f.write(f.office, made.Drafts)
	f.org, f.boss = made.Org, made.Person
	f.app = f.do(f.boss, "person.add", `{"name":"Bo Muster","roles":["applicator"]}`)
	f.train = f.do(f.boss, "person.add", fmt.Sprintf(`{"name":"Cyd Modelo","roles":["trainee"],"supervisor":%q}`, f.app))
	f.look = f.do(f.boss, "person.add", `{"name":"Dee Esempio","roles":["inspector"]}`)
	return f
}

// testKey is a key that no one else has.
func testKey(n byte) ed25519.PrivateKey {
	seed := make([]byte, ed25519.SeedSize)
	seed[0] = n
	return ed25519.NewKeyFromSeed(seed)
}

func deviceOf(key ed25519.PrivateKey) journal.Hash {
	var j journal.Journal
	e, err := j.Append(key, journal.Draft{ID: mustID(journal.ID{}, 1), Kind: "x", Body: []byte("{}")})
	if err != nil {
		panic(err)
	}
	return e.Device
}

func mustID(last journal.ID, ms int64) journal.ID {
	id, err := journal.NewID(last, ms, [10]byte{})
	if err != nil {
		panic(err)
	}
	return id
}

func (f *firm) moment(by journal.ID) Moment {
	return Moment{By: by, Device: deviceOf(f.office), Now: f.now, Zone: f.zone, KeepAt: f.keepAt, NewID: func() (journal.ID, error) {
		f.last = mustID(f.last, f.now)
		return f.last, nil
	}}
}

// write signs drafts and takes them in.
func (f *firm) write(key ed25519.PrivateKey, drafts []journal.Draft) []journal.Entry {
	f.t.Helper()
	var written []journal.Entry
	for _, d := range drafts {
		e, err := f.log.Append(key, d)
		if err != nil {
			f.t.Fatal(err)
		}
		f.take(e)
		written = append(written, e)
	}
	return written
}

// take folds an entry.
func (f *firm) take(e journal.Entry) {
	f.heads[e.Device] = max(f.heads[e.Device], e.Time)
	item := views.Item{Place: views.Place{Time: f.heads[e.Device], Device: e.Device, Seq: e.Seq, Hash: e.Hash()}}
	read, err := entries.Read(e)
	if err != nil {
		f.t.Fatal(err)
	}
	item.Entry = read
	f.items, f.raw = append(f.items, item), append(f.raw, e)
}

// try does a deed and keeps what it wrote.
func (f *firm) try(by journal.ID, name, input string) (Outcome, error) {
	f.t.Helper()
	f.now += 1000
	i := slices.IndexFunc(Deeds(), func(d Deed) bool { return d.Name == name })
	if i < 0 {
		f.t.Fatalf("no deed %s", name)
	}
	out, err := Deeds()[i].Do(f.moment(by), f, json.RawMessage(input))
	if err != nil {
		return out, err
	}
	f.write(f.office, out.Drafts)
	for _, d := range out.Drafts {
		if !slices.Contains(f.wrote[name], d.Kind) {
			f.wrote[name] = append(f.wrote[name], d.Kind)
		}
	}
	return out, nil
}

// done does a deed that must go well.
func (f *firm) done(by journal.ID, name, input string) Outcome {
	f.t.Helper()
	out, err := f.try(by, name, input)
	if err != nil {
		f.t.Fatalf("%s %s: %v", name, input, err)
	}
	return out
}

// do does a deed that must go well, and returns the id in its result.
func (f *firm) do(by journal.ID, name, input string) journal.ID {
	f.t.Helper()
	out := f.done(by, name, input)
	text, err := json.Marshal(out.Result)
	if err != nil {
		f.t.Fatal(err)
	}
	var r struct {
		ID journal.ID `json:"id"`
	}
	if err := json.Unmarshal(text, &r); err != nil {
		f.t.Fatalf("%s: result %s: %v", name, text, err)
	}
	return r.ID
}

// refused does a deed that must be refused with this code at this field, and
// must write nothing.
func (f *firm) refused(by journal.ID, name, input, code, field string) *Refusal {
	f.t.Helper()
	out, err := f.try(by, name, input)
	var r *Refusal
	switch {
	case !errors.As(err, &r):
		f.t.Errorf("%s %s: %v, want the refusal %s", name, input, err, code)
		return &Refusal{}
	case r.Code != code || r.Field != field:
		f.t.Errorf("%s %s: %s at %q (%s), want %s at %q", name, input, r.Code, r.Field, r.Text, code, field)
	case r.Text == "" || strings.ContainsAny(r.Text, "\n\r"):
		f.t.Errorf("%s: text %q, want one line", r.Code, r.Text)
	}
	if len(out.Drafts) > 0 {
		f.t.Errorf("%s wrote %d entries although it was refused", name, len(out.Drafts))
	}
	return r
}

// about lists items that speak of a subject, in the order of folding, with the
// entries as they were written.
func (f *firm) about(s entries.Subject) (items []views.Item, raw []journal.Entry) {
	var at []int
	for i, item := range f.items {
		if slices.Contains(item.Body.About(item.ID), s) {
			at = append(at, i)
		}
	}
	slices.SortFunc(at, func(a, b int) int { return f.items[a].Place.Compare(f.items[b].Place) })
	for _, i := range at {
		items, raw = append(items, f.items[i]), append(raw, f.raw[i])
	}
	return items, raw
}

// View, List, Entry, Entries and Tip make the firm a Reader.
func (f *firm) View(s entries.Subject) (views.Row, bool, error) {
	items, _ := f.about(s)
	if len(items) == 0 {
		return views.Row{}, false, nil
	}
	row, err := views.Fold(s, items)
	return row, true, err
}

func (f *firm) List(kind entries.SubjectKind, from, to, after string, limit int) ([]views.Row, error) {
	seen := map[string]bool{}
	var rows []views.Row
	for _, item := range f.items {
		for _, s := range item.Body.About(item.ID) {
			if s.Kind != kind || seen[s.ID] {
				continue
			}
			seen[s.ID] = true
			row, _, err := f.View(s)
			if err != nil {
				return nil, err
			}
			if row.Key >= from && (to == "" || row.Key < to) && !(row.Key == from && row.Subject.ID <= after) {
				rows = append(rows, row)
			}
		}
	}
	slices.SortFunc(rows, func(a, b views.Row) int {
		return cmp.Or(strings.Compare(a.Key, b.Key), strings.Compare(a.Subject.ID, b.Subject.ID))
	})
	return rows[:min(limit, len(rows))], nil
}

func (f *firm) Entry(id journal.ID) (journal.Entry, bool, error) {
	i := slices.IndexFunc(f.raw, func(e journal.Entry) bool { return e.ID == id })
	if i < 0 {
		return journal.Entry{}, false, nil
	}
	return f.raw[i], true, nil
}

func (f *firm) Entries(s entries.Subject) ([]journal.Entry, error) {
	_, raw := f.about(s)
	return raw, nil
}

func (f *firm) Tip(device journal.Hash) (tip journal.Entry, ok bool, err error) {
	for _, e := range f.raw {
		if e.Device == device && e.Seq > tip.Seq {
			tip, ok = e, true
		}
	}
	return tip, ok, nil
}

// state reads the present of a subject.
func state[S views.State](f *firm, kind entries.SubjectKind, id journal.ID) S {
	f.t.Helper()
	row, ok, err := f.View(entries.Subject{Kind: kind, ID: id.String()})
	if err != nil || !ok {
		f.t.Fatalf("view of %s %s: %t, %v", kind, id, ok, err)
	}
	s, err := stateOf[S](row)
	if err != nil {
		f.t.Fatal(err)
	}
	return s
}

// demoLabel is a label file of the demo as JSON text.
func demoLabel(t testing.TB, name string) string {
	t.Helper()
	text, err := os.ReadFile("../cmd/sapwell/demo/labels/" + name + ".yaml")
	if err != nil {
		t.Fatal(err)
	}
	quoted, err := json.Marshal(string(text))
	if err != nil {
		t.Fatal(err)
	}
	return string(quoted)
}

// ashTree makes grounds with a green ash that was measured and inspected, and the
// label demo-a.
func (f *firm) ashTree() (grounds, tree, label journal.ID) {
	f.t.Helper()
	grounds = f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	tree = f.do(f.app, "tree.add", fmt.Sprintf(`{"grounds":%q,"tag":"Q-01","species":"green ash"}`, grounds))
	f.do(f.app, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[{"ring":{"girth":{"around":"96 in","height":"12 in"},"zero":{"face":"N"}},
		"bark":[{"at":"12 in","thickness":"1/2 in"},{"at":"60 in","thickness":"1/2 in"}]}]}`, tree))
	f.do(f.app, "tree.inspect", fmt.Sprintf(`{"tree":%q,"canopy_loss":10,"pest":"Agrilus planipennis","bloom_over":"yes","eaten":"no","tapped":"no","live_wires":"no"}`, tree))
	label = f.do(f.boss, "label.add", `{"file":`+demoLabel(f.t, "demo-a")+`}`)
	return grounds, tree, label
}

package actions

import (
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// phone enrols a device for a person.
func (f *firm) phone(n byte, person journal.ID) ed25519.PrivateKey {
	f.t.Helper()
	key := testKey(n)
	f.do(f.boss, "device.enrol", fmt.Sprintf(`{"device":%q,"name":"phone %d","person":%q}`, deviceOf(key), n, person))
	return key
}

// sent is what a device would send: an entry that this journal has not.
func (f *firm) sent(key ed25519.PrivateKey, kind string, body string) journal.Entry {
	f.t.Helper()
	var log journal.Journal // a chain of its own: only kind, body and device count here
	f.now++
	e, err := log.Append(key, journal.Draft{ID: mustID(f.last, f.now), Time: f.now, Kind: kind, Body: []byte(body)})
	if err != nil {
		f.t.Fatal(err)
	}
	return e
}

func (f *firm) admits(e journal.Entry, want string) {
	f.t.Helper()
	if got, err := Admit(f, e); err != nil || got != want {
		f.t.Errorf("%s: %q, %v; want %q", e.Kind, got, err, want)
	}
}

// Every kind by everyone: the kinds that decide who may do what, and by which
// label, are the office's; an inspector writes nothing; the rest is the field's.
func TestEveryKindByEveryRole(t *testing.T) {
	office := map[string]bool{"org": true, "person": true, "certificate": true, "device.enrolled": true, "device.revoked": true, "label": true, "retired": true}
	f := newFirm(t)
	clerk := f.do(f.boss, "person.add", `{"name":"Eli Primer","roles":["office"]}`)
	for i, p := range []struct {
		person         journal.ID
		field, decides bool
	}{
		{clerk, true, true}, {f.boss, true, true}, {f.app, true, false}, {f.train, true, false}, {f.look, false, false},
	} {
		key := f.phone(byte(10+i), p.person)
		for _, kind := range append(entries.Kinds(), "weather.forecast") {
			want := ""
			if office[kind] && !p.decides || !office[kind] && !p.field {
				want = "not_entitled"
			}
			body := fmt.Sprintf(`{"by":%q,"v":1}`, p.person)
			f.admits(f.sent(key, kind, body), want)
			f.admits(f.sent(key, kind, fmt.Sprintf(`{"by":%q,"v":2}`, p.person)), want) // of a newer program
			if kind != "weather.forecast" && p.field {
				f.admits(f.sent(key, kind, fmt.Sprintf(`{"by":%q,"v":1}`, f.org)), "not_theirs")
				f.admits(f.sent(key, kind, `{"v":1}`), "not_theirs")
			}
		}
	}
}

func TestDevicesThatMayNot(t *testing.T) {
	f := newFirm(t)
	note := func(by journal.ID) string {
		return fmt.Sprintf(`{"by":%q,"on":{"id":%q,"kind":"org"},"text":"x","v":1}`, by, f.org)
	}
	f.admits(f.sent(testKey(7), "note", note(f.app)), "unknown")
	f.admits(f.sent(f.office, "note", note(f.app)), "") // the office's own speaks for everybody

	key := f.phone(8, f.app)
	sent := f.write(key, []journal.Draft{{ID: mustID(f.last, f.now+1), Time: f.now, Kind: "note", Body: []byte(note(f.app))}})
	f.last = sent[0].ID
	r := f.done(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":"lost"}`, deviceOf(key))).Result.(deviceRevoked)
	if r.Through != 1 {
		t.Errorf("revoked through %d, want 1: it had written one entry", r.Through)
	}
	// A second chain from its beginning, by whoever has the phone now.
	f.admits(f.sent(key, "note", note(f.app)), "revoked")
	next, err := f.log.Append(key, journal.Draft{ID: mustID(f.last, f.now+9), Time: f.now, Kind: "note", Body: []byte(note(f.app))})
	if err != nil {
		t.Fatal(err)
	}
	f.admits(next, "revoked")
}

// Somebody who left is still heard: what lies on their device was done before.
func TestWhoLeftIsHeardOut(t *testing.T) {
	f := newFirm(t)
	key := f.phone(8, f.app)
	out := f.done(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, f.app))
	if codes := findings(out.Findings); len(codes) != 1 || codes[0] != "person.device_left" {
		t.Errorf("findings %v, want the device that is still enrolled", codes)
	}
	f.admits(f.sent(key, "note", fmt.Sprintf(`{"by":%q,"v":1}`, f.app)), "")
}

// An amendment of what the office wrote is the office's, whatever kind it claims.
func TestAmendmentsOfWhatTheOfficeWrote(t *testing.T) {
	f := newFirm(t)
	key := f.phone(8, f.app)
	person, _, err := f.Entry(f.app)
	if err != nil {
		t.Fatal(err)
	}
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	for _, c := range []struct {
		of   journal.ID
		kind string
		want string
	}{
		{grounds, "grounds", ""},
		{grounds, "person", "not_entitled"},
		{person.ID, "person", "not_entitled"},
		{person.ID, "grounds", "not_entitled"},
		{f.last, "grounds", ""}, // not here yet: admitted, and understood when it comes
	} {
		f.admits(f.sent(key, "amendment", fmt.Sprintf(`{"after":{},"before":{},"by":%q,"of":%q,"of_kind":%q,"v":1,"why":"x"}`, f.app, c.of, c.kind)), c.want)
	}
}

var errDisk = errors.New("the disk is on fire")

// broken is a store that cannot be read: that is no refusal.
type broken struct{ Reader }

func (broken) View(entries.Subject) (row views.Row, ok bool, err error) { return row, false, errDisk }

func TestAStoreThatFailsIsNoRefusal(t *testing.T) {
	f := newFirm(t)
	if why, err := Admit(broken{f}, f.raw[0]); why != "" || !errors.Is(err, errDisk) {
		t.Errorf("Admit: %q, %v", why, err)
	}
	for _, d := range Deeds() {
		if _, err := d.Do(f.moment(f.boss), broken{f}, json.RawMessage(`{}`)); !errors.Is(err, errDisk) || isRefusal(err) {
			t.Errorf("%s: %v", d.Name, err)
		}
	}
}

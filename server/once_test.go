package server

import (
	"encoding/json"
	"net/http"
	"reflect"
	"strings"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"sapwell/journal"
	"sapwell/views"
)

func keyed(key string) http.Header { return http.Header{"Idempotency-Key": {key}} }

// A retry bores nothing twice and is answered as the first time; after a restart,
// when the answer is forgotten, it is told what was written.
func TestRetryBoresNothingTwice(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	key := must(h.server.ids.fresh()).String()
	const bore = `{"visit":"$visit","tree":"$tree","mark":1}`
	var first, again, later did
	for _, to := range []*did{&first, &again} {
		res, body := h.post(f, "app", "hole.bore", bore, keyed(key))
		if res.StatusCode != http.StatusOK {
			t.Fatalf("%d %s", res.StatusCode, body)
		}
		h.must(json.Unmarshal(body, to))
	}
	if first.Repeated || !again.Repeated || !reflect.DeepEqual(first.Entries, again.Entries) || string(first.Result) != string(again.Result) {
		t.Errorf("first %+v, again %+v", first, again)
	}
	h.server.done = newDoneDeeds() // as after a restart
	_, body := h.post(f, "app", "hole.bore", bore, keyed(key))
	h.must(json.Unmarshal(body, &later))
	if !later.Repeated || !reflect.DeepEqual(first.Entries, later.Entries) || later.Result != nil {
		t.Errorf("after a restart: %s", body)
	}
	var visit views.Visit
	h.get(f, "app", "/api/visits/$visit", &visit)
	if len(visit.Holes) != 1 {
		t.Errorf("%d holes", len(visit.Holes))
	}
	// The same key of somebody else, or without a key, is another deed.
	if res, body := h.post(f, "train", "hole.bore", strings.Replace(bore, "1}", "2}", 1), keyed(key)); res.StatusCode != http.StatusOK {
		t.Errorf("%d %s", res.StatusCode, body)
	}
}

// A key is good for one deed. What is no key is refused.
func TestKeysAreForOneDeed(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	key := must(h.server.ids.fresh()).String()
	h.post(f, "app", "hole.bore", `{"visit":"$visit","tree":"$tree","mark":1}`, keyed(key))
	res, body := h.post(f, "app", "hole.bore", `{"visit":"$visit","tree":"$tree","mark":2}`, keyed(key))
	h.problem("another input", res, body, http.StatusUnprocessableEntity, "request.key_reused")
	res, body = h.post(f, "app", "note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"x"}`, keyed(key))
	h.problem("another deed", res, body, http.StatusUnprocessableEntity, "request.key_reused")
	for _, bad := range []string{"1", strings.ToUpper(key), strings.Replace(key, "-7", "-4", 1), strings.Repeat("a", 4000)} {
		res, body := h.post(f, "app", "hole.bore", `{"visit":"$visit","tree":"$tree","mark":2}`, keyed(bad))
		h.problem(bad[:1], res, body, http.StatusUnprocessableEntity, "request.key")
	}
	// A deed that was refused used up nothing.
	key = must(h.server.ids.fresh()).String()
	res, _ = h.post(f, "app", "hole.bore", `{"visit":"$visit","tree":"$tree","mark":99}`, keyed(key))
	if res.StatusCode == http.StatusOK {
		t.Fatal("there is no mark 99")
	}
	if res, body := h.post(f, "app", "hole.bore", `{"visit":"$visit","tree":"$tree","mark":3}`, keyed(key)); res.StatusCode != http.StatusOK {
		t.Errorf("%d %s", res.StatusCode, body)
	}
}

// Of twenty requests at once with the same key one is done.
func TestManyRetriesAtOnce(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	key := must(h.server.ids.fresh()).String()
	var wait sync.WaitGroup
	for range 20 {
		wait.Go(func() {
			res, body := h.post(f, "app", "note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"once"}`, keyed(key))
			if res.StatusCode != http.StatusOK {
				t.Errorf("%d %s", res.StatusCode, body)
			}
		})
	}
	wait.Wait()
	var tree views.Tree
	h.get(f, "app", "/api/trees/$tree", &tree)
	if tree.Notes != 1 {
		t.Errorf("%d notes, want 1", tree.Notes)
	}
}

// Derived ids are always the same, are UUIDs of version 7 with the time of the key,
// grow, and never meet those of another key or person.
func TestDerivedIDs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.Custom(func(t *rapid.T) journal.ID {
			random := [10]byte(rapid.SliceOfN(rapid.Byte(), 10, 10).Draw(t, "random"))
			return must(journal.NewID(journal.ID{}, rapid.Int64Range(0, 1<<47).Draw(t, "ms"), random))
		})
		org, person, other, key := id.Draw(t, "org"), id.Draw(t, "person"), id.Draw(t, "other"), id.Draw(t, "key")
		mine, again := derivedIDs(keyName(org, person, key), key), derivedIDs(keyName(org, person, key), key)
		theirs := derivedIDs(keyName(org, other, key), key)
		var last journal.ID
		for range 50 {
			a, b, c := must(mine()), must(again()), must(theirs())
			var read journal.ID
			if a != b || a == c && person != other || read.UnmarshalText([]byte(a.String())) != nil || a.String() <= last.String() {
				t.Fatalf("%s %s %s after %s", a, b, c, last)
			}
			if string(a[:5]) != string(key[:5]) {
				t.Fatalf("%s has not the time of %s", a, key)
			}
			last = a
		}
	})
}

// What is kept in memory stays within its bounds, the newest first.
func TestDoneDeedsAreBounded(t *testing.T) {
	d := newDoneDeeds()
	large := strings.Repeat("x", 500_000)
	for i := range 100 {
		d.keep(journal.Hash{byte(i)}, doneDeed{deed: "x", result: large})
	}
	if d.bytes > mostDoneBytes || d.order.Len() < 20 || len(d.byName) != d.order.Len() {
		t.Errorf("%d bytes, %d answers", d.bytes, d.order.Len())
	}
	if _, ok, _ := d.find(journal.Hash{0}, "x", nil); ok {
		t.Error("the oldest is still there")
	}
	d.keep(journal.Hash{200}, doneDeed{result: strings.Repeat(large, 5)}) // more than its share
	if _, kept := d.byName[journal.Hash{200}]; kept {
		t.Error("one answer takes all the room")
	}
}

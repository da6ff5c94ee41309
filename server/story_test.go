package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// A day's work through the documented API alone, reckoned by hand (common practice,
// no source): 96 in of girth at one unit for every 6 in are 16 units of 4 mL, and
// 16 × 4 = 64 mL go in where none is left. Of 40 units 16 were used: 24 are left.
func TestDayThroughTheAPI(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	var installed struct{ Holes, Units []journal.ID }
	h.must(json.Unmarshal(h.do(f, "app", "tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot"}`).Result, &installed))
	if len(installed.Holes) != 16 || len(installed.Units) != 16 {
		t.Fatalf("%d holes, %d units, want 16 and 16", len(installed.Holes), len(installed.Units))
	}
	var round struct {
		Visits []struct{ Trees []struct{ Out int } }
	}
	h.get(f, "look", "/api/round?day=2026-06-09", &round)
	if len(round.Visits) != 1 || round.Visits[0].Trees[0].Out != 16 {
		t.Errorf("on the round: %+v, want 16 units out", round)
	}
	// While a unit is out the visit cannot be closed.
	h.refused(f, "app", "visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`, http.StatusConflict, "visit.unit_out")

	units, _ := json.Marshal(installed.Units)
	h.do(f, "app", "unit.lift", `{"visit":"$visit","units":`+string(units)+`,"left":"0 mL"}`)
	h.do(f, "train", "visit.tally", `{"visit":"$visit","lots":[{"lot":"$lot","taken":16,"seated":16,"lifted":16,"lost":0,"unused":0}]}`)
	h.do(f, "app", "visit.close", `{"visit":"$visit","signature":{"name":"Bo Muster","meaning":"done as recorded"}}`)

	var visit views.Visit
	h.get(f, "look", "/api/visits/$visit", &visit)
	if visit.Closed == nil || visit.Closed.Trees[0].Given != 64_000_000 {
		t.Errorf("closed %+v, want 64 mL given", visit.Closed)
	}
	var lot views.Lot
	h.get(f, "look", "/api/lots/$lot", &lot)
	if lot.OnHand != 24 || lot.Used != 16 {
		t.Errorf("lot: %d on hand, %d used, want 24 and 16", lot.OnHand, lot.Used)
	}
	bag := h.made(f, "train", "bag.seal", `{"visits":["$visit"],"mark":"W-1","units":16}`)
	f.name("bag", bag.String())
	h.do(f, "app", "bag.hand", `{"bag":"$bag","to":"Example Waste (fictional)","proof":"N-12"}`)
}

// proofOf is the answer of a proof route.
type proofOf struct {
	Line, Receipt string
	N, Size       int64
	Root          journal.Hash
	Inclusion     []journal.Hash
}

// holds checks a proof as a stranger would, with package journal's checker only.
func (p proofOf) holds(t *testing.T, root journal.Hash, size int64) {
	t.Helper()
	e, err := journal.ReadEntry([]byte(p.Line))
	if err != nil {
		t.Fatal(err)
	}
	r, err := journal.ReadReceipt([]byte(p.Receipt))
	if err != nil || r.Entry != e.Hash() || r.N != p.N {
		t.Errorf("receipt %s (%v) is not that of %s", p.Receipt, err, e.Hash())
	}
	if err := journal.VerifyInclusion(root, size, p.N, journal.HashLine([]byte(p.Receipt)), p.Inclusion); err != nil {
		t.Error(err)
	}
}

// Amending needs a reason, hides nothing, and leaves old proofs good.
func TestAmendmentsHold(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	head := func() journal.TreeHead {
		var out struct{ Line string }
		h.get(f, "look", "/api/head", &out)
		head, err := journal.ReadTreeHead([]byte(out.Line))
		h.must(err)
		return head
	}
	var before proofOf
	old := head()
	h.get(f, "look", "/api/entries/$measurement/proof", &before)
	before.holds(t, old.Root, old.Size)

	body := strings.Replace(bodyOf(t, before.Line), `"height_nm":304800000`, `"height_nm":330200000`, 1) // 12 in, 13 in
	h.refused(f, "app", "amend", `{"of":"$measurement","why":"","after":`+body+`}`, http.StatusUnprocessableEntity, "amend.no_reason")
	h.refused(f, "app", "amend", `{"of":"$measurement","after":`+body+`}`, http.StatusUnprocessableEntity, "input.missing")
	amendment := h.made(f, "app", "amend", `{"of":"$measurement","why":"the tape lay at 13 in","after":`+body+`}`)

	// The old proof still verifies under the old head, the new head continues it.
	before.holds(t, old.Root, old.Size)
	now := head()
	var again proofOf
	h.get(f, "look", fmt.Sprintf("/api/entries/$measurement/proof?size=%d", old.Size), &again)
	again.holds(t, old.Root, old.Size)
	if again.Line != before.Line {
		t.Error("the entry was altered")
	}
	var consistent struct{ Proof []journal.Hash }
	h.get(f, "look", fmt.Sprintf("/api/consistency?from=%d&to=%d", old.Size, now.Size), &consistent)
	if err := journal.VerifyConsistency(old.Root, old.Size, now.Root, now.Size, consistent.Proof); err != nil {
		t.Error(err)
	}

	var told struct{ Entries []actions.Said }
	h.get(f, "look", "/api/trees/$tree/entries", &told)
	i := slices.IndexFunc(told.Entries, func(s actions.Said) bool { return s.ID.String() == f.with("$measurement") })
	if i < 0 || !slices.Equal(told.Entries[i].AmendedBy, []journal.ID{amendment}) {
		t.Fatalf("the measurement does not name its amendment: %+v", told.Entries)
	}
	j := slices.IndexFunc(told.Entries, func(s actions.Said) bool { return s.ID == amendment })
	var a entries.Amendment
	h.must(json.Unmarshal(told.Entries[j].Body, &a))
	if told.Entries[j].By != f.people["app"] || told.Entries[j].At == 0 || a.Why != "the tape lay at 13 in" ||
		!bytes.Contains(a.Before, []byte("304800000")) || !bytes.Contains(a.After, []byte("330200000")) {
		t.Errorf("who, when, why, before, after: %+v %+v", told.Entries[j], a)
	}
	// The plan was made by the measurement of that time and stays.
	var tree views.Tree
	h.get(f, "look", "/api/trees/$tree", &tree)
	if tree.Measurement.Facts.Stems[0].Girth.Height != 330_200_000 || tree.Plan.String() != f.with("$plan") {
		t.Errorf("the tree shows %+v", tree.Measurement)
	}
}

// bodyOf is the body of an entry, byte for byte.
func bodyOf(t *testing.T, line string) string {
	t.Helper()
	e, err := journal.ReadEntry([]byte(line))
	if err != nil {
		t.Fatal(err)
	}
	return string(e.Body)
}

// A label edited after the work does not change what was planned by it.
func TestLabelOfThatTime(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	h.day(f)
	var before, after views.Visit
	h.get(f, "look", "/api/visits/$visit", &before)
	file := strings.Replace(string(readFile(t, "../cmd/sapwell/demo/labels/demo-a.yaml")), "version: 2026-02-01", "version: 2026-06-08", 1)
	text, _ := json.Marshal(file)
	newer := h.made(f, "boss", "label.add", `{"file":`+string(text)+`}`)
	h.get(f, "look", "/api/visits/$visit", &after)
	if !bytes.Equal(mustJSON(t, before), mustJSON(t, after)) {
		t.Error("the visit changed")
	}
	var plan struct{ Line string }
	h.get(f, "look", "/api/entries/$plan", &plan)
	if body := bodyOf(t, plan.Line); !strings.Contains(body, f.with("$label")) || strings.Contains(body, newer.String()) {
		t.Errorf("the plan names another label: %s", body)
	}
}

func mustJSON(t *testing.T, v any) []byte {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

package main

import (
	"io"
	"testing"
	"time"

	"sapwell/actions"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/views"
	"sapwell/words"
)

func english(t testing.TB) *words.Printer {
	t.Helper()
	p, err := words.New("en", quantity.Style{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The day of the demo can be done at any time of the year, and at any hour.
func TestDemoAtAnyTime(t *testing.T) {
	t.Setenv("TZ", "America/Chicago")
	for month := time.Month(1); month <= 12; month++ {
		at := time.Date(2027, month, 9, 2*int(month)-1, 30, 0, 0, time.UTC)
		st := mem.New()
		w := world{stdout: io.Discard, now: func() time.Time { return at }, say: english(t)}
		if err := w.fillDemo(t.Context(), st); err != nil {
			t.Errorf("%s: %v", at, err)
			continue
		}
		looksLikeADay(t, st, at)
	}
}

// looksLikeADay wants what a crew would find: a visit done, one under way with units
// out and trees that wait, and a stock that fits both.
func looksLikeADay(t *testing.T, st store.Store, now time.Time) {
	t.Helper()
	orgs, err := st.Orgs(t.Context())
	if err != nil || len(orgs) != 1 {
		t.Fatal(orgs, err)
	}
	l, err := st.Ledger(t.Context(), orgs[0])
	if err != nil {
		t.Fatal(err)
	}
	err = l.Read(t.Context(), func(r store.Reader) error {
		zone, err := time.LoadLocation("America/Chicago")
		if err != nil {
			return err
		}
		round, err := actions.Round(r, quantity.DateOf(now.In(zone)))
		if err != nil {
			return err
		}
		if len(round) != 1 {
			t.Fatalf("%s: %d visits on the round", now, len(round))
		}
		out, waiting, drained := 0, 0, 0
		for _, tree := range round[0].Trees {
			out, drained = out+tree.Out, drained+tree.Drained
			if tree.Seated == 0 {
				waiting++
			}
		}
		if out < 10 || drained == 0 || waiting == 0 {
			t.Errorf("%s: %d units out, %d drained, %d trees waiting", now, out, drained, waiting)
		}
		return theOtherIsDone(t, r, now)
	})
	if err != nil {
		t.Fatal(err)
	}
}

// theOtherIsDone looks at the visit of hours ago and at the lots.
func theOtherIsDone(t *testing.T, r store.Reader, now time.Time) error {
	t.Helper()
	closed := statesOf[*views.Visit](t, r, entries.OfVisit, "closed|")
	if len(closed) != 1 || closed[0].Closed == nil {
		t.Fatalf("%s: closed visits: %+v", now, closed)
	}
	seated := 0
	for _, tree := range closed[0].Closed.Trees {
		if seated += tree.Units; tree.Units == 0 || tree.Lifted != tree.Units || tree.End >= now.UnixMilli() || tree.Start >= tree.End {
			t.Errorf("%s: closed with %+v", now, tree)
		}
	}
	used := 0
	for _, lot := range statesOf[*views.Lot](t, r, entries.OfLot, "") {
		if used += lot.Used; lot.OnHand < 0 || lot.Used > 0 && lot.OnHand == 0 {
			t.Errorf("%s: lot %+v", now, lot)
		}
	}
	if used != seated {
		t.Errorf("%s: %d units seated, %d used of the lots", now, seated, used)
	}
	bags := statesOf[*views.Bag](t, r, entries.OfBag, "")
	if len(bags) != 1 || bags[0].Facts.Units != seated {
		t.Errorf("%s: bags %+v, want one with %d units", now, bags, seated)
	}
	return nil
}

func statesOf[S views.State](t *testing.T, r store.Reader, kind entries.SubjectKind, from string) (all []S) {
	t.Helper()
	to := ""
	if from != "" {
		to = from[:len(from)-1] + "}"
	}
	rows, err := r.List(kind, from, to, "", 1000)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		state, err := views.Read(row)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, state.(S))
	}
	return all
}

package actions

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"
)

// What is seen in the evening is seen that day, though it is tomorrow by UTC
// already: at 21:30 of 9 June, four hours behind UTC, UTC has 10 June 01:30.
func TestAnEveningBelongsToItsDay(t *testing.T) {
	evening := time.Date(2026, 6, 10, 1, 30, 0, 0, time.UTC).UnixMilli()
	for _, c := range []struct {
		name string
		zone *time.Location
		asks bool // whether the end of bloom is still an open matter on 9 June
	}{
		{"in the zone of the place", time.FixedZone("", -4*60*60), false},
		{"by UTC", nil, true},
	} {
		f := newFirm(t)
		f.now, f.zone = evening, c.zone
		_, tree, label := f.ashTree()
		out := f.done(f.app, "tree.plan", fmt.Sprintf(`{"tree":%q,"label":%q,"day":"2026-06-09","certified":"yes"}`, tree, label))
		codes := codesOf(t, out.Result)
		if got := slices.Contains(codes, "bloom.unknown"); got != c.asks {
			t.Errorf("%s: bloom.unknown found is %v, want %v (%v)", c.name, got, c.asks, codes)
		}
	}
}

func codesOf(t *testing.T, result any) (codes []string) {
	t.Helper()
	text, err := json.Marshal(result)
	if err != nil {
		t.Fatal(err)
	}
	var told struct {
		Plan struct {
			Opinion struct {
				Findings []struct{ Code string }
			}
		}
	}
	if err := json.Unmarshal(text, &told); err != nil {
		t.Fatal(err)
	}
	for _, f := range told.Plan.Opinion.Findings {
		codes = append(codes, f.Code)
	}
	return codes
}

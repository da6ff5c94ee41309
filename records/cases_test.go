package records

import (
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"sapwell/internal/outside"
)

// caseFile is one case: a merge patch on the base record and what each profile
// must find, as worked out by hand from the texts of the rules.
type caseFile struct {
	ID     string
	Title  string
	Patch  map[string]any
	Expect map[string]any // a list of codes or NOT_APPLICABLE
}

func base(t testing.TB) Record {
	t.Helper()
	raw, err := os.ReadFile("testdata/cases/base.json")
	if err != nil {
		t.Fatal(err)
	}
	r, err := Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// merged is RFC 7396.
func merged(target, patch any) any {
	p, ok := patch.(map[string]any)
	if !ok {
		return patch
	}
	object, _ := target.(map[string]any)
	out := map[string]any{}
	for k, v := range object {
		out[k] = v
	}
	for k, v := range p {
		if v == nil {
			delete(out, k)
		} else {
			out[k] = merged(out[k], v)
		}
	}
	return out
}

// patched is the base record with a patch on it.
func patched(t testing.TB, patch any) Record {
	t.Helper()
	var whole any
	if err := json.Unmarshal(base(t).JSON(), &whole); err != nil {
		t.Fatal(err)
	}
	raw, err := json.Marshal(merged(whole, patch))
	if err != nil {
		t.Fatal(err)
	}
	r, err := Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// found is what Check answers, in the shape of a case's expectation.
func found(r Record) map[string][]string {
	answer := map[string][]string{}
	for _, result := range Check(r) {
		codes := []string{}
		for _, f := range result.Findings {
			codes = append(codes, f.Code())
		}
		if !result.Applies {
			codes = []string{"NOT_APPLICABLE"}
		}
		slices.Sort(codes)
		answer[result.Profile] = codes
	}
	return answer
}

// Every case finds its exact sets, and looking changes nothing.
func TestCases(t *testing.T) {
	names, err := filepath.Glob("testdata/cases/R*.json")
	if err != nil || len(names) != 8 {
		t.Fatalf("%d cases, %v", len(names), err)
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var c caseFile
		if err := json.Unmarshal(raw, &c); err != nil {
			t.Fatal(err)
		}
		r := patched(t, c.Patch)
		before := string(r.JSON())
		got := found(r)
		if string(r.JSON()) != before {
			t.Errorf("%s: the check changed the record", c.ID)
		}
		if len(got) != len(c.Expect) {
			t.Errorf("%s: %d profiles, want %d", c.ID, len(got), len(c.Expect))
		}
		for profile, want := range c.Expect {
			if codes := wanted(want); !slices.Equal(got[profile], codes) {
				t.Errorf("%s %s: %v, want %v", c.ID, profile, got[profile], codes)
			}
		}
	}
	outside.Ran(t, "testdata/cases: sets worked out by hand from 40 CFR 171.303, 7 CFR 110.3, 3 CCR 6624 and 6627, ECL 33-1205, (EU) 2023/564", "8 records, 6 profiles each")
}

func wanted(expect any) []string {
	list, ok := expect.([]any)
	if !ok {
		return []string{expect.(string)}
	}
	codes := []string{}
	for _, c := range list {
		codes = append(codes, c.(string))
	}
	slices.Sort(codes)
	return codes
}

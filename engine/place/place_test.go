package place

import (
	"encoding/json"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

// standard is the table of ISO 3166 as the package iso-codes has it, English and
// Spanish.
type standard struct {
	Countries map[string][]string // names by code
	States    map[string][]string // of the US, by the part behind the hyphen
}

const readStandard = `
import gettext, json
d = "/usr/share/iso-codes/json/iso_3166-%s.json"
out = {"Countries": {}, "States": {}}
es = [gettext.translation("iso_3166-%s" % n, "/usr/share/locale", ["es"]) for n in "12"]
for c in json.load(open(d % "1"))["3166-1"]:
    names = [c[k] for k in ("alpha_3", "name", "common_name") if k in c]
    out["Countries"][c["alpha_2"]] = names + [es[0].gettext(c["name"])]
for s in json.load(open(d % "2"))["3166-2"]:
    if s["code"].startswith("US-"):
        out["States"][s["code"][3:]] = [s["name"], es[1].gettext(s["name"])]
print(json.dumps(out))
`

func readISO(t *testing.T) (s standard) {
	t.Helper()
	python := outside.Tool(t, "python3")
	if _, err := os.Stat("/usr/share/iso-codes/json/iso_3166-2.json"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("iso-codes is not installed, and CI=true demands it (make tools installs it)")
		}
		t.Skip("iso-codes is not installed (make tools installs it)")
	}
	raw, err := exec.Command(python, "-c", readStandard).Output()
	if err == nil {
		err = json.Unmarshal(raw, &s)
	}
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Every state and every country of the table bears the code of ISO 3166, and is
// found by the standard's names, English and Spanish.
func TestStandard(t *testing.T) {
	iso := readISO(t)
	for code, names := range iso.States {
		for _, name := range append(names, code, "us-"+code, strings.ToUpper(name(names)), " "+strings.ToLower(code)+". ") {
			if got, known := Region("US", name); got != code || !known {
				t.Errorf("state %q: %q, want %s", name, got, code)
			}
		}
	}
	for _, r := range states {
		if iso.States[r.code] == nil {
			t.Errorf("%s is no code of ISO 3166-2:US", r.code)
		}
	}
	for _, r := range countries {
		if iso.Countries[r.code] == nil {
			t.Errorf("%s is no code of ISO 3166-1", r.code)
		}
		for _, name := range append(iso.Countries[r.code], r.code, strings.ToLower(r.code)) {
			if got, known := Country(name); got != r.code || !known {
				t.Errorf("country %q: %q, want %s", name, got, r.code)
			}
		}
	}
	for code := range iso.Countries {
		_, known := Country(code)
		if inTable := slices.ContainsFunc(countries, func(r row) bool { return r.code == code }); known != inTable {
			t.Errorf("%s: known %t", code, known)
		}
	}
	outside.Ran(t, "ISO 3166-1 and 3166-2:US (Debian iso-codes)", "codes and names of countries and states, English and Spanish")
}

func name(list []string) string { return list[0] }

// UK and EL are exceptionally reserved beside GB and GR (ISO 3166-1; EU
// interinstitutional style guide, 7.1.1, from memory).
func TestOtherSpellings(t *testing.T) {
	for written, want := range map[string]string{
		"UK": "GB", "u.k.": "GB", " Great  Britain": "GB", "EL": "GR", "el": "GR", "ελλαδα": "GR", "ΕΛΛΆΔΑ": "GR",
		"U.S.A.": "US", "u. s.": "US", "The United States": "US", "Estados unidos": "US", "Espana": "ES",
		"ÖSTERREICH": "AT", "Osterreich": "AT", "cesko": "CZ", "Czech Republic": "CZ", "magyarorszag": "HU", "România": "RO",
	} {
		if got, _ := Country(written); got != want {
			t.Errorf("%q: %q, want %s", written, got, want)
		}
	}
	for written, want := range map[string]string{
		"N.Y.": "NY", "new  york": "NY", "US-N.Y.": "NY", "usa-ny": "NY", "Washington, D.C.": "DC", "Washington": "WA", "nueva york": "NY", "Oregon.": "OR",
	} {
		if got, _ := Region("usa", written); got != want {
			t.Errorf("%q: %q, want %s", written, got, want)
		}
	}
}

// What is not known is not guessed.
func TestNotKnown(t *testing.T) {
	for _, written := range []string{"", " ", ".", "EU", "ZZ", "XX", "Mars", "Unite", "JP"} {
		if got, known := Country(written); known || got != "" {
			t.Errorf("country %q: %q", written, got)
		}
	}
	for _, written := range []string{"", "-", "US", "ON", "Nuw York", "Ontario", "CA-ON"} {
		if got, known := Region("US", written); known || got != "" {
			t.Errorf("state %q: %q", written, got)
		}
	}
	if Code(" zz ") != "zz" || Code("uk ") != "GB" {
		t.Error("Code keeps what is not known, without spaces")
	}
	for written, want := range map[string]string{"on": "ON", "CA-ON": "ON", "Ontario": "", "ca-qc ": "QC", "": ""} {
		if got, known := Region("Canada", written); got != want || known != (want != "") {
			t.Errorf("part of Canada %q: %q", written, got)
		}
	}
}

// No name stands for two places.
func TestNamesAreOne(t *testing.T) {
	for _, table := range [][]row{countries, states} {
		seen := map[string]string{}
		for _, r := range table {
			for _, name := range append(strings.Split(r.names, "|"), r.code) {
				if other, ok := seen[fold(name)]; ok && other != r.code {
					t.Errorf("%q is %s and %s", name, other, r.code)
				}
				seen[fold(name)] = r.code
			}
		}
	}
}

// The 27 members (Treaty on European Union, article 52; the United Kingdom left on
// 2020-01-31).
func TestMembers(t *testing.T) {
	n := 0
	for _, r := range countries {
		if InEU(r.code) {
			n++
		}
	}
	if n != 27 || InEU("UK") || InEU("") || InEU(" ") || !InEU("el") || !InEU("Ireland") {
		t.Errorf("%d members", n)
	}
	outside.Ran(t, "Treaty on European Union, article 52 (from memory)", "27 members, and not the United Kingdom")
}

func FuzzRegion(f *testing.F) {
	f.Add("US", "New York")
	f.Add("", "\xff-")
	f.Fuzz(func(t *testing.T, country, written string) {
		code, known := Region(country, written)
		if known != (code != "") {
			t.Fatal(code, known)
		}
		if again, _ := Region(country, code); again != code {
			t.Fatalf("%q, %q: %q, then %q", country, written, code, again)
		}
	})
}

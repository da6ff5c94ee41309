package records

import (
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"sapwell/engine/quantity"
)

// Every file is read, in the order in which profiles are shown, and says where it
// holds, whence it comes, how far that was read, and when it was last looked at.
func TestFilesAreWhole(t *testing.T) {
	var ids []string
	for _, j := range all().jurisdictions {
		ids = append(ids, j.ID)
		if len(j.Sources) == 0 || j.ID != "generic" && len(j.Doubts) == 0 {
			t.Errorf("%s: %d sources, %d doubts", j.ID, len(j.Sources), len(j.Doubts))
		}
		for _, s := range j.Sources {
			if s.By == "" || s.Title == "" || !slices.Contains([]string{"confirmed", "secondary", "memory", "own"}, s.Mark) {
				t.Errorf("%s: source %+v", j.ID, s)
			}
		}
		for i, v := range j.Versions {
			if v.Name == "" || len(v.Asks) == 0 || v.Keep == (keep{}) {
				t.Errorf("%s, version %d is not whole", j.ID, i)
			}
		}
	}
	if want := []string{"us-fed-rup", "us-ca", "us-ny", "eu-2023-564", "uk", "generic"}; !slices.Equal(ids, want) {
		t.Errorf("order %v, want %v", ids, want)
	}
}

// What a file must not say, for the day and the ways of a program that judges by it.
func TestReadProfileRefuses(t *testing.T) {
	const sound = `{"id":"x","name":{"en":"X","es":"X"},"checked_on":"2026-07-01","places":["XX"],"versions":[{"name":"v","asks":[{"field":"a","says":{"en":"b","es":"b"}}],"keep":{"years":2}}]}`
	if _, err := readProfile([]byte(sound)); err != nil {
		t.Fatal(err)
	}
	for change, want := range map[[2]string]string{
		{`"id":"x",`, ``}:             "want id",
		{`"en":"X"`, `"en":""`}:       "want id, name",
		{`["XX"]`, `["UK"]`}:          "places",
		{`["XX"]`, `["US-New York"]`}: "places",
		{`["XX"]`, `["everywhere"]`}:  "places",
		{`2026-07-01`, `1 July`}:      "checked_on",
		{`"years":2`, `"yaers":2`}:    "unknown field",
		{`"years":2`, `"years":-1`}:   "keep",
		{`"es":"b"`, `"es":" "`}:      "asks",
		{`"says":{"en":"b","es":"b"}`, `"says":{"en":"b","es":"b"},"when":[{"field":"a"}]`}:                                      "one of is, is_not, below",
		{`"says":{"en":"b","es":"b"}`, `"says":{"en":"b","es":"b"},"when":[{"field":"a","is":{}}]`}:                              "true, false or a text",
		{`"name":"v",`, `"name":"v","limits":[{"fields":["a"]}],`}:                                                               "limits",
		{`"name":"v",`, `"name":"v","orders":[{"same":["a"]}],`}:                                                                 "orders",
		{`"name":"v",`, `"name":"v","formats":[{"field":"a"}],`}:                                                                 "formats",
		{`"name":"v",`, `"name":"v","formats":[{"field":"a","form":"?"}],`}:                                                      "want day, moment",
		{`"name":"v",`, `"name":"v","formats":[{"field":"a","pattern":"("}],`}:                                                   "error parsing regexp",
		{`"name":"v",`, `"name":"v","duties":[{"id":"d","says":{"en":"s","es":"s"}}],`}:                                          "duties: d",
		{`"name":"v",`, `"name":"v","duties":[{"id":"d","says":{"en":"s","es":"s"},"done":"a","due":{"next_year":"02-30"}}],`}:   "day of the year",
		{`"name":"v",`, `"name":"v","duties":[{"id":"d","says":{"en":"s","es":"s"},"done":"a","due":{"days":1},"per":"week"}],`}: "want day, month or year",
	} {
		if _, err := readProfile([]byte(strings.Replace(sound, change[0], change[1], 1))); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q in it", change[1], err, want)
		}
	}
	if _, err := readProfile([]byte(sound + "{}")); err == nil {
		t.Error("two objects were taken")
	}
}

// Another place is a file: read beside the others, it comes after those that are
// listed and asks what it says.
func TestAnotherPlaceIsAFile(t *testing.T) {
	folder := fstest.MapFS{"profiles/xx.json": {Data: []byte(`{"id":"xx","name":{"en":"Elsewhere","es":"Otro lugar"},"checked_on":"2026-07-01","places":["XX"],
		"versions":[{"name":"its law","from":"2026-01-01","asks":[{"field":"site.parcel","says":{"en":"parcel","es":"parcela"}}],"keep":{"years":5}}]}`)}}
	names, err := fs.Glob(files, "profiles/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		raw, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		folder[name] = &fstest.MapFile{Data: raw}
	}
	b, err := load(folder)
	if err != nil {
		t.Fatal(err)
	}
	last := b.jurisdictions[len(b.jurisdictions)-1]
	if len(b.jurisdictions) != 7 || last.ID != "xx" {
		t.Fatalf("%d profiles, the last is %s", len(b.jurisdictions), last.ID)
	}
	r := base(t)
	v := last.version(r, quantity.NewDate(2026, 5, 12))
	if got := v.findings(r, quantity.NewDate(2026, 5, 12), nil); len(got) != 1 || got[0].Code() != "MISSING:site.parcel" {
		t.Errorf("%v", got)
	}
	if last.version(r, quantity.NewDate(2025, 12, 31)) != nil {
		t.Error("it holds before its first day")
	}
	folder["profiles/xx.json"] = &fstest.MapFile{Data: []byte("{")}
	if _, err := load(folder); err == nil || !strings.Contains(err.Error(), "xx.json") {
		t.Errorf("a broken file: %v", err)
	}
}

// Whatever a file says, it is refused or can be judged by.
func FuzzProfile(f *testing.F) {
	names, err := fs.Glob(files, "profiles/*.json")
	if err != nil {
		f.Fatal(err)
	}
	for _, name := range names {
		raw, err := files.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	r := base(f).With("as_of", "2030-01-01").With("units.retrieved", 3)
	f.Fuzz(func(t *testing.T, in []byte) {
		j, err := readProfile(in)
		if err != nil {
			return
		}
		for _, day := range []quantity.Date{{}, quantity.NewDate(2025, 1, 1), quantity.NewDate(2028, 2, 29)} {
			v := j.version(r, day)
			if v == nil {
				continue
			}
			v.findings(r, day, nil)
			v.wants("ctx.agency")
		}
	})
}

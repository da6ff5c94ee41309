package files

import (
	"bytes"
	"encoding/json"
	"errors"
	"iter"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"sapwell/internal/outside"
	"sapwell/records"
)

// each hands out a list as a file takes it.
func each[T any](list ...T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for _, v := range list {
			if !yield(v, nil) {
				return
			}
		}
	}
}

// broken fails after one value.
func broken[T any](v T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		if yield(v, nil) {
			yield(v, errBroken)
		}
	}
}

var errBroken = errors.New("the store broke off")

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("disk full") }

// program runs a program over a file and returns what it prints.
func program(t *testing.T, content []byte, ext string, name string, args ...string) string {
	t.Helper()
	file := filepath.Join(t.TempDir(), "x"+ext)
	if err := os.WriteFile(file, content, 0o600); err != nil {
		t.Fatal(err)
	}
	for i, a := range args {
		if a == "FILE" {
			args[i] = file
		}
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, out)
	}
	return string(out)
}

// cases are the records of the shared cases: the base and what each patch (RFC
// 7396) makes of it, by hand in the test of package records.
func base(t testing.TB) records.Record {
	t.Helper()
	raw, err := os.ReadFile("../../records/testdata/cases/base.json")
	if err != nil {
		t.Fatal(err)
	}
	r, err := records.Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// awkward are records with what breaks files: formulas, quotes, line ends,
// commas, letters of several octets, facts of the wrong sort, facts of no column.
func awkward(t testing.TB) []records.Record {
	t.Helper()
	b := base(t)
	amended := b.With("client.name", "=HYPERLINK(\"http://x\")")
	amended.Amendments = []records.Amendment{{Field: "client.name", By: "B. Example", At: "2026-05-20T09:00:00-04:00", Why: "typing, \"error\"", Before: "x", After: "=y"}}
	return []records.Record{
		b,
		amended,
		b.With("site.location", "two\r\nlines, \"quoted\"\rand\nmore ").With("client.address", " '=1+1"),
		b.With("tree.species", "Ясень — 桜 🌳").With("client.name", "-12").With("business.name", "@home"),
		b.With("units.installed", "sixteen").With("site.geo", "42 N 75 W").With("label.rup", nil).With("date", ""),
		b.With("site.trs", nil).With("ctx.agency", true).With("crop", "ash").With("further.than", json.Number("1e-7")),
		b.With("amount.total", map[string]any{"value": json.Number("64.50"), "unit": "mL", "by": "weighing"}),
	}
}

func written(t testing.TB, write func(*bytes.Buffer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// What breaks off says so, and whoever cannot write is told.
func TestErrorsCome(t *testing.T) {
	b, e, f := base(t), anEvent(), Feature{ID: "x"}
	var w bytes.Buffer
	for name, err := range map[string]error{
		"json": RecordsJSON(&w, From{}, broken(b)), "csv": RecordsCSV(&w, broken(b)), "calendar": Calendar(&w, "x", broken(e)),
		"geojson": GeoJSON(&w, broken(f)), "new york": NewYorkApplications(&w, broken(b)),
	} {
		if !errors.Is(err, errBroken) {
			t.Errorf("%s: got %v, want what broke off", name, err)
		}
	}
	for name, err := range map[string]error{
		"json": RecordsJSON(full{}, From{}, each(b)), "csv": RecordsCSV(full{}, each(b)), "calendar": Calendar(full{}, "x", each(e)),
		"geojson": GeoJSON(full{}, each(f)), "new york": NewYorkApplications(full{}, each(b)), "persons": NewYorkApplicators(full{}, nil),
		"california": CaliforniaMonth{Year: 2026, Month: 5}.WriteCSV(full{}),
	} {
		if err == nil || err.Error() != "disk full" {
			t.Errorf("%s: got %v, want disk full", name, err)
		}
	}
}

func python(t *testing.T) string { return outside.Tool(t, "python3") }

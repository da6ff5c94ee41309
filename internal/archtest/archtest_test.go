package archtest

import (
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

func TestHouseStands(t *testing.T) {
	faults, err := Check(os.DirFS("../.."))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		t.Error(f)
	}
}

// A small house in order; each case plants one thing that must be found.
const drawing = "```imports\nengine/quantity:\nengine/dose: engine/quantity\nactions: engine/*\n```\n"

func sound() fstest.MapFS {
	return fstest.MapFS{
		"doc/house.md":                {Data: []byte(drawing)},
		"engine/quantity/quantity.go": {Data: []byte("// Package quantity: how much?\npackage quantity\n")},
		"engine/dose/dose.go":         {Data: []byte("// Package dose: how many?\npackage dose\n\nimport \"sapwell/engine/quantity\"\n\nvar _ quantity.X\n")},
		"actions/actions.go":          {Data: []byte("// Package actions: what is done?\npackage actions\n")},
	}
}

func TestSoundHouseHasNoFault(t *testing.T) {
	if faults, err := Check(sound()); err != nil || len(faults) > 0 {
		t.Fatalf("faults %q, error %v", faults, err)
	}
}

func TestPlantedFaultsAreFound(t *testing.T) {
	for name, c := range map[string]struct{ file, src, want string }{
		"clock":          {"engine/dose/x.go", "package dose\n\nimport \"time\"\n\nvar _ = 1\n\nfunc f() time.Time { return time.Now() }\n", "time.Now"},
		"renamed clock":  {"engine/dose/x.go", "package dose\n\nimport tm \"time\"\n\nfunc f(t tm.Time) { _ = tm.Since(t) }\n", "time.Since"},
		"clock as value": {"engine/dose/x.go", "package dose\n\nimport \"time\"\n\nfunc f() func() time.Time { return time.Now }\n", "time.Now"},
		"upward import":  {"engine/quantity/x.go", "package quantity\n\nimport _ \"sapwell/engine/dose\"\n", "may not import engine/dose"},
		"file access":    {"engine/dose/x.go", "package dose\n\nimport _ \"os\"\n", "imports os"},
		"network":        {"actions/x.go", "package actions\n\nimport _ \"net/http\"\n", "imports net/http"},
		"global random":  {"engine/dose/x.go", "package dose\n\nimport \"math/rand/v2\"\n\nfunc f() int { return rand.IntN(3) }\n", "needs a seed"},
		"secret random":  {"actions/x.go", "package actions\n\nimport _ \"crypto/rand\"\n", "comes in as bytes"},
		"third party":    {"engine/dose/x.go", "package dose\n\nimport _ \"example.org/x\"\n", "no third-party module"},
		"init":           {"engine/dose/x.go", "package dose\n\nfunc init() {}\n", "init runs"},
		"mutable state":  {"engine/dose/x.go", "package dose\n\nvar n int\n\nfunc f() { n++ }\n", "n is written to"},
		"map write":      {"engine/dose/x.go", "package dose\n\nvar m = map[int]int{}\n\nfunc f() { m[1] = 2 }\n", "m is written to"},
		"exported var":   {"engine/dose/x.go", "package dose\n\nvar Table = []int{1}\n", "exported variable Table"},
		"no comment":     {"engine/other/x.go", "package other\n", "no package comment"},
		"not drawn":      {"engine/other/x.go", "// Package other: why?\npackage other\n", "not in the imports block"},
	} {
		t.Run(name, func(t *testing.T) {
			tree := sound()
			tree[c.file] = &fstest.MapFile{Data: []byte(c.src)}
			faults, err := Check(tree)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(faults, func(f string) bool { return strings.Contains(f, c.want) }) {
				t.Errorf("planted %s; want a fault with %q, got %q", name, c.want, faults)
			}
		})
	}
}

func TestLocalNamesAreNotState(t *testing.T) {
	tree := sound()
	tree["engine/dose/x.go"] = &fstest.MapFile{Data: []byte("package dose\n\nvar n = []int{1}\n\nfunc f() { n := 1; n++; _ = n }\n")}
	if faults, err := Check(tree); err != nil || len(faults) > 0 {
		t.Fatalf("faults %q, error %v", faults, err)
	}
}

// The drawing must exist and name only what exists.
func TestDrawingNamesWhatExists(t *testing.T) {
	tree := sound()
	delete(tree, "actions/actions.go")
	faults, err := Check(tree)
	if err != nil || len(faults) != 1 || !strings.Contains(faults[0], "actions, which does not exist") {
		t.Errorf("faults %q, error %v", faults, err)
	}
	if _, err := Check(fstest.MapFS{}); err == nil {
		t.Error("a house without a drawing passed")
	}
	var _ fs.FS = tree
}

// Median, 95th percentile and longest, for whoever reads the log.
func TestSizes(t *testing.T) {
	lines, err := Sizes(os.DirFS("../.."))
	if err != nil || len(lines) == 0 {
		t.Fatal(lines, err)
	}
	for _, l := range lines {
		t.Log("sizes: " + l)
	}
}

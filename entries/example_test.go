package entries

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/journal"
)

// id is a UUID version 7 told from others by its last byte.
func id(n byte) journal.ID {
	return journal.ID{0x01, 0x9e, 0x5a, 0x10, 0x2b, 0x3c, 0x70, 0x01, 0x80, 0, 0, 0, 0, 0, 0, n}
}

// bodies is one zero body of each kind.
var bodies = []Body{
	Org{}, Person{}, Certificate{}, DeviceEnrolled{}, DeviceRevoked{}, Grounds{}, Tree{}, Measurement{}, Condition{},
	Wound{}, Closure{}, Label{}, Lot{}, Stock{}, Plan{}, VisitOpened{}, Hole{}, UnitSeated{}, UnitPressurised{},
	UnitDrained{}, UnitStuck{}, UnitLifted{}, UnitLost{}, Tally{}, VisitClosed{}, BagSealed{}, BagHanded{}, Note{},
	Photo{}, Amendment{}, Retired{},
}

// example is one body of testdata/v1. They were written with Python's json
// module, are frozen, and stand one to a line in an array.
type example struct {
	kind  string
	body  []byte
	value map[string]any // as the standard library reads it
}

func examples(t testing.TB) []example {
	t.Helper()
	var all []example
	for _, kind := range Kinds() {
		raw, err := os.ReadFile(filepath.Join("testdata", "v1", kind+".json"))
		if err != nil {
			t.Fatal(err)
		}
		for line := range strings.Lines(string(raw)) {
			line = strings.TrimSuffix(strings.TrimSuffix(line, "\n"), ",")
			if line == "[" || line == "]" {
				continue
			}
			e := example{kind: kind, body: []byte(line)}
			d := json.NewDecoder(bytes.NewReader(e.body))
			d.UseNumber()
			if err := d.Decode(&e.value); err != nil {
				t.Fatalf("%s: %v", kind, err)
			}
			all = append(all, e)
		}
	}
	return all
}

func canonical(t testing.TB, v any) []byte {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out, err := journal.Canonical(raw)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

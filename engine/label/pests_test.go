package label

import "testing"

// Codes and names were read together in EPPO lists (pra.eppo.int); English names
// are common practice, no source.
func TestSamePest(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"EAB", "Agrilus planipennis", true},
		{"Emerald  Ash Borer", "AGRLPL", true},
		{"AGRLAX", "Agrilus anxius", true},
		{"spotted lanternfly", "LYCMDE", true},
		{"PHYTRA", "sudden oak death", true},
		{"Agrilus anxius", "Agrilus planipennis", false},
		{"oak wilt", "Oak Wilt", true}, // no row, the same name
		{"oak wilt", "Bretziella fagacearum", false},
		{"", "", false},
		{"EAB", "", false},
	} {
		if got := SamePest(c.a, c.b); got != c.want || SamePest(c.b, c.a) != c.want {
			t.Errorf("%q and %q: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}

// A label that prints the scientific name lists the pest whatever the crew calls it.
func TestTargetsPestByAnyName(t *testing.T) {
	l := Label{Pests: []Pest{{Name: "Agrilus planipennis"}, {Name: "borers of birch", EPPO: "AGRLAX"}}}
	for name, want := range map[string]bool{"EAB": true, "AGRLPL": true, "bronze birch borer": true, "Agrilus anxius": true, "AGRLBL": false} {
		if got := l.TargetsPest(name); got != want {
			t.Errorf("%q: %v, want %v", name, got, want)
		}
	}
}

package treelist

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"sapwell/engine/bole"
	"sapwell/engine/quantity"
)

// Places on a ring of 96 in; 1 in = 25.4 mm exactly (NIST SP 811).
func TestFissures(t *testing.T) {
	for text, want := range map[string][]quantity.Length{
		"3; 9 1/2; 14 in":    {3 * in, 19 * in / 2, 14 * in},
		"3 in | 9½ in":       {3 * in, 19 * in / 2},
		"1 ft 2 in; 2 ft":    {14 * in, 24 * in},
		"9-1/2 in":           {19 * in / 2},
		"8'":                 {96 * in}, // the far end of the tape
		"0 in;; ;":           {0},
		"10 cm; 4 in":        {10 * cm, 4 * in},
		"12.5; 13 cm":        {125 * mm, 13 * cm},
		"14in;9":             {14 * in, 9 * in},
		"3 in\n4 in\r\n5 in": {3 * in, 4 * in, 5 * in},
	} {
		if diff := cmp.Diff(want, one(t, with("fissures", text)).Tree.Stems[0].Ring.Fissures); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
	if got := one(t, with("fissures_cm", "10; 12.5")).Tree.Stems[0].Ring.Fissures; !cmp.Equal(got, []quantity.Length{10 * cm, 125 * mm}) {
		t.Error(got)
	}
}

func TestDefects(t *testing.T) {
	arc := func(from, to quantity.Length, k bole.ArcKind) bole.Arc { return bole.Arc{From: from, To: to, Kind: k} }
	for text, want := range map[string][]bole.Arc{
		"12-16 in canker; 40-44 in cavity; 90-2 in crack": {arc(12*in, 16*in, bole.Canker), arc(40*in, 44*in, bole.Cavity), arc(90*in, 2*in, bole.Crack)},
		"12 in - 16 in":                  {arc(12*in, 16*in, bole.Defect)},
		"12 to 16 in Dead Cambium":       {arc(12*in, 16*in, bole.DeadCambium)},
		"1 ft–1 ft 6 in girdling-root":   {arc(12*in, 18*in, bole.Girdling)},
		"9 1/2-12 in defect":             {arc(19*in/2, 12*in, bole.Defect)},
		"9-1/2-12 in":                    {arc(19*in/2, 12*in, bole.Defect)},
		"12-16-1/2 in canker":            {arc(12*in, 33*in/2, bole.Canker)},
		"9 to 1/2 in crack":              {arc(9*in, in/2, bole.Crack)},
		"10 cm-4 in crack":               {arc(10*cm, 4*in, bole.Crack)},
		"0-96 in dead":                   {arc(0, 96*in, bole.DeadCambium)}, // all round
		"30.5 cm-41 cm canker | 50-55cm": {arc(305*mm, 41*cm, bole.Canker), arc(50*cm, 55*cm, bole.Defect)},
	} {
		if diff := cmp.Diff(want, one(t, with("defects", text)).Tree.Stems[0].Ring.Arcs); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}

func TestWounds(t *testing.T) {
	for text, want := range map[string]bole.Wound{
		"22 in":                              {At: 22 * in},
		"22 in 2024-05-10 w 3/16 in h 12 in": {At: 22 * in, Made: date(2024, 5, 10), Width: 3 * in / 16, Height: 12 * in},
		"22 in, 2024-05-10, w 3/16, h 12 in": {At: 22 * in, Made: date(2024, 5, 10), Width: 3 * in / 16, Height: 12 * in},
		"22 in H: 1 ft W: 5 mm 2023":         {At: 22 * in, Made: date(2023, 12, 31), Width: 5 * mm, Height: 12 * in},
		"22 in 2024-02":                      {At: 22 * in, Made: date(2024, 2, 29)},
		"48 in 2026":                         {At: 48 * in, Made: demoDay}, // this year: today at the latest
		"48 in 2026-06":                      {At: 48 * in, Made: demoDay},
		"48 in 2026-05":                      {At: 48 * in, Made: date(2026, 5, 31)},
		"2 ft 2023":                          {At: 24 * in, Made: date(2023, 12, 31)},
	} {
		got := one(t, with("wounds", text)).Tree.Stems[0].Ring.Wounds
		if diff := cmp.Diff([]bole.Wound{want}, got); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}

// The year counts to its end also when the day of work is not known.
func TestWoundWithoutDayOfWork(t *testing.T) {
	f := faults{file: "f"}
	got := f.wounds(newScale(false), cell{text: "3 in 2031", head: "wounds"}, 96*in, quantity.Date{})
	if len(f.list) > 0 || len(got) != 1 || got[0].Made != date(2031, 12, 31) {
		t.Error(got, f.list)
	}
}

func TestBark(t *testing.T) {
	for text, want := range map[string][]bole.BarkReading{
		"12 in: 0.5 in; 40 in: 5/8 in": {{At: 12 * in, Thickness: in / 2}, {At: 40 * in, Thickness: 5 * in / 8}},
		"0.5 in; 0.6 in":               {{Thickness: in / 2}, {Thickness: 3 * in / 5}},
		"12: 0.5; 40: 5/8 in":          {{At: 12 * in, Thickness: in / 2}, {At: 40 * in, Thickness: 5 * in / 8}},
		"30 cm: 12 mm":                 {{At: 30 * cm, Thickness: 12 * mm}},
	} {
		if diff := cmp.Diff(want, one(t, with("bark", text)).Tree.Stems[0].Bark); diff != "" {
			t.Errorf("%q: %s", text, diff)
		}
	}
}

package dose

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

func drawRounding(t *rapid.T) label.Rounding {
	return rapid.SampledFrom([]label.Rounding{label.RoundUp, label.RoundDown, label.RoundNearest}).Draw(t, "rounding")
}

func drawSizes(t *rapid.T) []quantity.Volume {
	half := rapid.Map(rapid.IntRange(2, 24), func(n int) quantity.Volume { return quantity.Volume(n) * mL / 2 })
	return rapid.SliceOfN(half, 1, 4).Draw(t, "sizes")
}

// drawLabel draws a label of any rule that grows with the girth.
func drawLabel(t *rapid.T) label.Label {
	l := mayWe()
	l.Ceilings.PerApplication = quantity.Volume(rapid.IntRange(0, 200).Draw(t, "ceiling")) * mL
	l.Unit.Fills = drawSizes(t)
	l.Rate.Rounding = drawRounding(t)
	l.Rate.Kind = rapid.SampledFrom([]label.RateKind{label.BySpacing, label.ByDiameter, label.DosePerDia, label.FixedPerHole}).Draw(t, "kind")
	step := quantity.Length(rapid.IntRange(10, 400).Draw(t, "step")) * quantity.Millimetre
	l.Rate.Spacing, l.Rate.PerUnit = step, step
	switch l.Rate.Kind {
	case label.BySpacing, label.ByDiameter:
		l.Unit.Fills = l.Unit.Fills[:1]
	case label.DosePerDia:
		l.Rate.Spacing = 0
		l.Rate.Volume = &quantity.VolumePerLength{Volume: quantity.Volume(rapid.IntRange(100, 3000).Draw(t, "rate")) * quantity.Microlitre, Per: quantity.Centimetre}
	case label.FixedPerHole:
		l.Rate.PerHole = rapid.SampledFrom(l.Unit.Fills).Draw(t, "per hole")
	}
	return l
}

func drawGirth(t *rapid.T, name string) quantity.Length {
	return quantity.Length(rapid.Int64Range(1, int64(8*quantity.Metre)).Draw(t, name))
}

// Never above the ceiling without a block; the total is the sum of the fills,
// and the units their count.
func TestSumsAndCeilings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLabel(t)
		r := Compute(at(l, drawGirth(t, "girth")))
		var total quantity.Volume
		units := 0
		for _, f := range r.Fills {
			total += quantity.Volume(f.Units) * f.Size
			units += f.Units
			if !slices.Contains(l.Unit.Fills, f.Size) || f.Units < 1 {
				t.Fatalf("fill %+v is not sold", f)
			}
		}
		if total != r.Total || units != r.Units {
			t.Fatalf("fills %v come to %v and %d, not %v and %d", r.Fills, total, units, r.Total, r.Units)
		}
		if most := l.Ceilings.PerApplication; most > 0 && r.Total > most && !why.Blocks(r.Findings) {
			t.Fatalf("%v over %v without a block", r.Total, most)
		}
		if r.Units == 0 && !why.Blocks(r.Findings) {
			t.Fatalf("no number and no reason: %+v", r)
		}
	})
}

// More girth never means less.
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLabel(t)
		l.Ceilings = label.Ceilings{} // a ceiling picks among mixes, and may pick less
		a, b := drawGirth(t, "a"), drawGirth(t, "b")
		small, large := Compute(at(l, min(a, b))), Compute(at(l, max(a, b)))
		tooMuch := slices.ContainsFunc(large.Findings, func(f why.Finding) bool { return f.Code == "dose.too_many_units" })
		if !tooMuch && (small.Total > large.Total || small.Holes > 0 && large.Holes == 0) {
			t.Fatalf("%v gives %v, %v gives %v", min(a, b), small.Total, max(a, b), large.Total)
		}
	})
}

// The distances of nearness are just where the dose changes.
func TestNearnessIsTheEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLabel(t)
		l.Ceilings = label.Ceilings{}
		g := drawGirth(t, "girth")
		r := Compute(at(l, g))
		if r.Units == 0 {
			return
		}
		if d := r.Nearness.ToMore; d > 0 && (Compute(at(l, g+d)).Total <= r.Total || Compute(at(l, g+d-1)).Total != r.Total) {
			t.Fatalf("more at +%d: %v, then %v, then %v", d, r.Total, Compute(at(l, g+d-1)).Total, Compute(at(l, g+d)).Total)
		}
		if d := r.Nearness.ToFewer; d > 0 && (Compute(at(l, g-d)).Total >= r.Total || Compute(at(l, g-d+1)).Total != r.Total) {
			t.Fatalf("fewer at -%d: %v, then %v, then %v", d, r.Total, Compute(at(l, g-d+1)).Total, Compute(at(l, g-d)).Total)
		}
	})
}

// pick against every mix there is: fewest units, then nearest, then above.
func TestPickAgainstAllMixes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sizes := ascending(drawSizes(t))
		stated := quantity.Volume(rapid.IntRange(1, 60_000).Draw(t, "stated")) * quantity.Microlitre
		w := windowOf(stated, sizes[0], drawRounding(t))
		atLeast := rapid.IntRange(0, 12).Draw(t, "at least")
		fills, ok := pick(w, sizes, atLeast, 0)
		units, total, any := bruteForce(w, sizes, atLeast)
		if ok != any {
			t.Fatalf("found %v, there is %v", ok, any)
		}
		n, v := 0, quantity.Volume(0)
		for _, f := range fills {
			n += f.Units
			v += quantity.Volume(f.Units) * f.Size
		}
		if ok && (n != units || v != total) {
			t.Fatalf("picked %d units, %v; best are %d, %v", n, v, units, total)
		}
	})
}

// bruteForce walks every mix whose total is not above the window.
func bruteForce(w window, sizes []quantity.Volume, atLeast int) (units int, total quantity.Volume, found bool) {
	var walk func(i, n int, v quantity.Volume)
	walk = func(i, n int, v quantity.Volume) {
		if v > w.high {
			return
		}
		if i == len(sizes) {
			off, was := apart(v, w.stated), apart(total, w.stated)
			better := !found || n < units || n == units && (off < was || off == was && v > total)
			if v >= w.low && n >= max(atLeast, 1) && better {
				units, total, found = n, v, true
			}
			return
		}
		walk(i+1, n, v)
		walk(i, n+1, v+sizes[i])
	}
	walk(0, 0, 0)
	return units, total, found
}

// Whole units are never a smallest unit or more off the stated dose.
func TestOffByLessThanAUnit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLabel(t)
		l.Ceilings = label.Ceilings{}
		if l.Rate.Kind != label.DosePerDia {
			return
		}
		r := Compute(at(l, drawGirth(t, "girth")))
		if r.Units > 0 && apart(r.Total, r.Stated) >= slices.Min(l.Unit.Fills) {
			t.Fatalf("%v for a stated %v, sizes %v", r.Total, r.Stated, l.Unit.Fills)
		}
	})
}

// TestInYear: by hand. Rolling: 365 days that end on the day; calendar: its year.
func TestInYear(t *testing.T) {
	on := func(s string) quantity.Date { d, _ := quantity.ParseDate(s); return d }
	past := []Past{{on("2025-06-10"), 5 * mL}, {on("2025-06-11"), 7 * mL}, {on("2026-01-01"), 0}, {on("2026-06-10"), 11 * mL}, {on("2026-06-11"), 13 * mL}}
	l := mayWe()
	if got, want := InYear(l, on("2026-06-10"), past), (Year{3, 18 * mL, 1}); got != want {
		t.Errorf("rolling: %+v, want %+v", got, want)
	}
	l.Ceilings.CalendarYear = true
	if got, want := InYear(l, on("2026-06-10"), past), (Year{2, 11 * mL, 1}); got != want {
		t.Errorf("calendar: %+v, want %+v", got, want)
	}
}

func BenchmarkSpacing(b *testing.B) {
	in := at(mayWe(), 97*inch)
	for b.Loop() {
		Compute(in)
	}
}

func BenchmarkMixedSizes(b *testing.B) {
	l := mayWe()
	l.Unit.Fills = []quantity.Volume{1 * mL, 2 * mL, 5 * mL, 8 * mL}
	l.Rate = label.Rate{Kind: label.DosePerDia, Rounding: label.RoundUp, Measure: l.Rate.Measure,
		Volume: &quantity.VolumePerLength{Volume: 2 * mL, Per: quantity.Centimetre}}
	in := at(l, 97*inch)
	for b.Loop() {
		Compute(in)
	}
}

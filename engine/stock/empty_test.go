package stock_test

import (
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/internal/outside"
)

func ptr[T any](v T) *T { return &v }

// grams makes a residue of so many hundredths of a gram in a unit of ten grams.
func grams(hundredths int64) *stock.Residue {
	r := stock.Residue{Low: hundredths, High: hundredths, Of: 1000}
	return &r
}

// The cases E of the emptiness test, worked out by hand from 40 CFR 261.7(b) (read
// at codes.findlaw.com), and the legs of the rule one by one.
func TestEmpty(t *testing.T) {
	whole := func(change func(*stock.Unit)) stock.Unit {
		u := stock.Unit{Residue: grams(25), Taken: ptr(true), Hazardous: ptr(true), Acute: ptr(false), Pressed: ptr(false)}
		change(&u)
		return u
	}
	depth := func(mm float64) *quantity.Length { return ptr(quantity.Length(mm * float64(quantity.Millimetre))) }
	for _, c := range []struct {
		name string
		u    stock.Unit
		want stock.Emptiness
	}{
		{"E1: 2.5 %, depth not known", whole(func(u *stock.Unit) {}), stock.Meets},
		{"E3: 4 %, 0.8 cm", whole(func(u *stock.Unit) { u.Residue, u.Depth = grams(40), depth(8) }), stock.Meets},
		{"E4: 4 %, depth not known", whole(func(u *stock.Unit) { u.Residue = grams(40) }), stock.Undetermined},
		{"E6: not all removable is out", whole(func(u *stock.Unit) { u.Depth, u.Taken = depth(5), ptr(false) }), stock.DoesNotMeet},
		{"E8: not hazardous", whole(func(u *stock.Unit) { u.Residue, u.Depth, u.Hazardous = grams(10), depth(2), ptr(false) }), stock.NotApplicable},
		{"3 % is within", whole(func(u *stock.Unit) { u.Residue = grams(30) }), stock.Meets},
		{"3.1 % and 2.5 cm: one leg will do", whole(func(u *stock.Unit) { u.Residue, u.Depth = grams(31), depth(25) }), stock.Meets},
		{"3.1 % and 2.51 cm: both fail", whole(func(u *stock.Unit) { u.Residue, u.Depth = grams(31), depth(25.1) }), stock.DoesNotMeet},
		{"nothing known of what is left", whole(func(u *stock.Unit) { u.Residue = nil }), stock.Undetermined},
		{"a range across the limit", whole(func(u *stock.Unit) { u.Residue = &stock.Residue{Low: 20, High: 40, Of: 1000} }), stock.Undetermined},
		{"a range above it, and deep", whole(func(u *stock.Unit) {
			u.Residue, u.Depth = &stock.Residue{Low: 31, High: 40, Of: 1000}, depth(30)
		}), stock.DoesNotMeet},
		{"hazard not determined", whole(func(u *stock.Unit) { u.Hazardous = nil }), stock.Undetermined},
		{"not known whether all is out", whole(func(u *stock.Unit) { u.Taken = nil }), stock.Undetermined},
		{"acute: another test", whole(func(u *stock.Unit) { u.Acute = ptr(true) }), stock.Undetermined},
		{"under pressure", whole(func(u *stock.Unit) { u.Pressed = ptr(true) }), stock.DoesNotMeet},
		{"nothing known at all", stock.Unit{}, stock.Undetermined},
	} {
		if got := c.u.Empty(); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
	outside.Ran(t, "40 CFR 261.7(b)(1), worked out by hand", "emptiness, 16 units")
}

// What is known more exactly never turns an answer round, and the range of a bag is
// the sum of its units'.
func TestResidue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		of := rapid.Int64Range(1, 1<<40).Draw(t, "of")
		low := rapid.Int64Range(0, of).Draw(t, "low")
		high := rapid.Int64Range(low, of).Draw(t, "high")
		at := rapid.Int64Range(low, high).Draw(t, "at")
		u := stock.Unit{Residue: &stock.Residue{Low: low, High: high, Of: of}, Taken: ptr(true), Hazardous: ptr(true), Acute: ptr(false), Pressed: ptr(false),
			Depth: ptr(30 * quantity.Millimetre)}
		vague := u.Empty()
		u.Residue = &stock.Residue{Low: at, High: at, Of: of}
		if exact := u.Empty(); vague != stock.Undetermined && exact != vague || exact == stock.Undetermined {
			t.Fatalf("%d to %d of %d: %s; at %d: %s", low, high, of, vague, at, exact)
		}
	})
	if got, want := stock.Weighed(12_300*quantity.Milligram, 12_000*quantity.Milligram, 4*quantity.Gram, 100*quantity.Milligram),
		(stock.Residue{Low: int64(200 * quantity.Milligram), High: int64(400 * quantity.Milligram), Of: int64(4 * quantity.Gram)}); got != want {
		t.Errorf("weighed: %v, want %v", got, want)
	}
	bag := stock.Drained(0, four/8, four).Together(stock.Drained(four/2, four, four))
	if want := (stock.Residue{Low: int64(four / 2), High: int64(four/8 + four), Of: int64(2 * four)}); bag != want {
		t.Errorf("a bag: %v, want %v", bag, want)
	}
	if r := (stock.Unit{Residue: grams(25)}).Why(); r.High != 2.5 {
		t.Errorf("%v %%, want 2.5", r.High)
	}
}

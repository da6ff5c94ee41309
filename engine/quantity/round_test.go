package quantity

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestTapeReadings writes feet, inches and fractions in the ways people do and
// demands the exact number of nanometres, by whole-number arithmetic on
// 1/64 in = 396 875 nm (from 1 in = 25.4 mm, SP 811 B.8).
func TestTapeReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		feet, inches := rapid.Int64Range(0, 200).Draw(t, "feet"), rapid.Int64Range(0, 11).Draw(t, "inches")
		den := int64(1) << rapid.IntRange(1, 6).Draw(t, "den")
		num := rapid.Int64Range(0, den-1).Draw(t, "num")
		want := Length(feet*12*64*396_875 + inches*64*396_875 + num*(64/den)*396_875)
		form := rapid.SampledFrom([]string{`%d'%d %d/%d"`, "%d ft %d %d/%d in", `%d'-%d-%d/%d"`, "%dft%d-%d/%dIN", "%d′ %d %d⁄%d″", "%d pies %d %d/%d pulg."}).Draw(t, "form")
		text := fmt.Sprintf(form, feet, inches, num, den)
		if got, err := ParseLength(text, Reading{}); err != nil || got != want {
			t.Fatalf("%s: %d, %v, want %d nm", text, got, err, want)
		}
	})
}

// TestDecimals writes a whole number of nanometres (nanolitres, nanograms) as a
// decimal of a larger unit and demands that very number.
func TestDecimals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(0, 1e15).Draw(t, "n")
		comma := rapid.Bool().Draw(t, "comma")
		in := Reading{DecimalComma: comma}
		if got, err := ParseLength(point(n, 9, comma)+" m", in); err != nil || int64(got) != n {
			t.Fatalf("%d nm in m: %d, %v", n, got, err)
		}
		if got, err := ParseVolume(point(n, 6, comma)+" mL", in); err != nil || int64(got) != n {
			t.Fatalf("%d nL in mL: %d, %v", n, got, err)
		}
		if got, err := ParseMass(point(n, 9, comma)+" g", in); err != nil || int64(got) != n {
			t.Fatalf("%d ng in g: %d, %v", n, got, err)
		}
	})
}

// point sets the decimal mark so many digits from the right, by text alone.
func point(n int64, places int, comma bool) string {
	digits := fmt.Sprintf("%0*d", places+1, n)
	mark := "."
	if comma {
		mark = ","
	}
	return strings.Join([]string{digits[:len(digits)-places], digits[len(digits)-places:]}, mark)
}

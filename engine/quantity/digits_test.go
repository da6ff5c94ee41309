package quantity

import (
	"math/big"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// Digits are held against those of Go's math/big, which has ways of its own for them.
func TestDigitsAreThoseOfMathBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		num := new(big.Int).SetBytes(rapid.SliceOfN(rapid.Byte(), 0, 60).Draw(t, "num"))
		den := new(big.Int).SetBytes(rapid.SliceOfN(rapid.Byte(), 1, 60).Draw(t, "den"))
		if den.Sign() == 0 {
			den.SetInt64(1)
		}
		r := new(big.Rat).SetFrac(num, den)
		if rapid.Bool().Draw(t, "negative") {
			r.Neg(r)
		}
		places := rapid.IntRange(0, 40).Draw(t, "places")
		if got, want := fixed(r, places), r.FloatString(places); got != want {
			t.Errorf("%s to %d places: %s, want %s", r, places, got, want)
		}
		if got, want := natural(num.String()), num; got.Cmp(want) != 0 {
			t.Errorf("digits of %s were read as %s", want, got)
		}
		if r.Sign() == 0 {
			return
		}
		count := rapid.IntRange(1, 40).Draw(t, "count")
		digits := significant(r, count)
		got, want := value(t, digits), toDigits(t, r, count)
		if got.Cmp(want) != 0 {
			t.Errorf("%s to %d digits: %s, want %s", r, count, digits, want.FloatString(40))
		}
		if read := numeral(digits); read == nil || read.Cmp(got) != 0 {
			t.Errorf("%s was read as %v", digits, read)
		}
	})
	outside.Ran(t, "Go's math/big", "digits of exact numbers")
}

// toDigits is r to so many significant digits. Text alone will not do: it takes an exact
// half to the even digit, FloatString takes it away from zero as Sapwell does. 170 digits
// of 600 bits tell the power of ten of any number of at most 60 bytes over 60 bytes.
func toDigits(t *rapid.T, r *big.Rat, count int) *big.Rat {
	_, power, _ := strings.Cut(new(big.Float).SetPrec(600).SetRat(r).Text('e', 170), "e")
	exponent, err := strconv.Atoi(power)
	if err != nil {
		t.Fatal(err)
	}
	unit := value(t, "1e"+strconv.Itoa(exponent-count+1))
	whole := value(t, new(big.Rat).Quo(r, unit).FloatString(0))
	return whole.Mul(whole, unit)
}

func value(t *rapid.T, digits string) *big.Rat {
	r, ok := new(big.Rat).SetString(digits)
	if !ok {
		t.Fatalf("%q is no number", digits)
	}
	return r
}

// A numeral is what RFC 8259, section 6, calls a number, and of that whatever math/big
// reads too.
func TestNumerals(t *testing.T) {
	for text, want := range map[string]string{
		"0": "0", "-0": "0", "96": "96", "-273.15": "-5463/20", "1e3": "1000", "1E+3": "1000", "25e-1": "5/2",
		"123456789012345678901234567890": "123456789012345678901234567890",
		"":                               "", "-": "", ".5": "", "e3": "", "1e": "", "1ex": "", "+1": "", "1 000": "", "0x10": "", "1/2": "", "Inf": "", "NaN": "",
	} {
		got := ""
		if r := numeral(text); r != nil {
			got = r.RatString()
		}
		if got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	form := regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]{1,2})?$`)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(form.String()).Draw(t, "text")
		if got, want := numeral(text), value(t, text); got == nil || got.Cmp(want) != 0 {
			t.Errorf("%s: %v, want %s", text, got, want)
		}
	})
	outside.Ran(t, "RFC 8259", "numbers as JSON writes them")
}

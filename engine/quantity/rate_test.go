package quantity

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

func TestRates(t *testing.T) {
	// 0.71 mL per cm over 40 cm is 28.4 mL (0.71 × 40; the rate is that of the
	// phosphite guidance for oaks in the USDA Forest Service manual on sudden
	// oak death).
	if got := (VolumePerLength{710 * Microlitre, Centimetre}).Over(40 * Centimetre); got != 28_400*Microlitre {
		t.Errorf("0.71 mL/cm over 40 cm: %d nL", got)
	}
	// 1 mL per 2 in over 96 in / 1 is 48 mL, exactly.
	if got := (VolumePerLength{Millilitre, 2 * Inch}).Over(96 * Inch); got != 48*Millilitre {
		t.Errorf("1 mL per 2 in over 96 in: %d nL", got)
	}
	// 0.1 g per 2.54 cm at 40 cm is 1.575 g (100 mg × 40/2.54 = 1574.803 mg).
	if got := (MassPerLength{100 * Milligram, Inch}).Over(40 * Centimetre); got != 1_574_803_150 {
		t.Errorf("0.1 g/in over 40 cm: %d ng", got)
	}
	content := MassPerVolume{40 * Gram, Litre}
	if m, v := content.In(5*Millilitre), content.Holding(200*Milligram); m != 200*Milligram || v != 5*Millilitre {
		t.Errorf("40 g/L: 5 mL holds %d ng, 200 mg is in %d nL", m, v)
	}
	outside.Ran(t, "USDA Forest Service, sudden oak death manual", "0.71 mL per cm over 40 cm")
}

func TestRateEdges(t *testing.T) {
	for _, c := range []struct{ got, want int64 }{
		{int64(VolumePerLength{}.Over(Inch)), 0},                                      // not stated: nothing
		{int64(VolumePerLength{1, 0}.Over(Inch)), math.MaxInt64},                      // no rate: loud
		{int64(VolumePerLength{math.MaxInt64, 1}.Over(math.MaxInt64)), math.MaxInt64}, // out of range
		{int64(VolumePerLength{math.MaxInt64, 1}.Over(math.MinInt64)), math.MinInt64},
		{int64(VolumePerLength{math.MaxInt64, math.MaxInt64}.Over(math.MaxInt64)), math.MaxInt64}, // just in range
		{int64(MassPerVolume{}.Holding(1)), 0},                                                    // per of zero: nothing over nothing
		{int64(MassPerVolume{0, Litre}.Holding(1)), math.MaxInt64},
		{int64(VolumePerLength{1, 2}.Over(1)), 1},   // a half goes away from zero
		{int64(VolumePerLength{1, 2}.Over(-1)), -1}, // on both sides
		{int64(VolumePerLength{1, 3}.Over(1)), 0},
	} {
		if c.got != c.want {
			t.Errorf("got %d, want %d", c.got, c.want)
		}
	}
}

// TestMulDivAgainstBig checks the 128-bit arithmetic against math/big.
func TestMulDivAgainstBig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Int64().Draw(t, "a"), rapid.Int64().Draw(t, "b")
		c := rapid.Int64Range(1, math.MaxInt64).Draw(t, "c")
		r := new(big.Rat).SetFrac(new(big.Int).Mul(big.NewInt(a), big.NewInt(b)), big.NewInt(c))
		exact, _ := new(big.Int).SetString(r.FloatString(0), 10) // halves away from zero, as its documentation says
		want := int64(math.MaxInt64)
		switch {
		case exact.IsInt64():
			want = exact.Int64()
		case exact.Sign() < 0:
			want = math.MinInt64
		}
		if got := mulDiv(a, b, c); got != want {
			t.Fatalf("%d * %d / %d = %d, want %d", a, b, c, got, want)
		}
	})
	outside.Ran(t, "Go math/big", "128-bit products and quotients")
}

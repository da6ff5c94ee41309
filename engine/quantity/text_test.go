package quantity

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The expected texts follow from the rounding each Text promises, worked by
// hand; which digits are sensible is common practice, no source.

var (
	us    = Style{System: Imperial}
	si    = Style{System: Metric}
	comma = Style{System: Metric, DecimalComma: true}
)

func TestText(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{(96 * Inch).Text(us), "96 in"},
		{(12*Inch + Inch/8).Text(us), "12 1/8 in"},
		{(12*Inch + Inch/16).Text(us), "12 1/8 in"}, // half an eighth goes up
		{(-12*Inch - Inch/16).Text(us), "-12 1/8 in"},
		{(11 * Inch / 64).Text(us), "11/64 in"},
		{(4*Inch - Inch/64).Text(us), "3 63/64 in"},
		{(2*Inch + 3*Inch/100).Text(us), "2 in"},
		{(Length(0)).Text(us), "0 in"},
		{(1609 * Metre).Text(us), "5279 ft"}, // 1609 / 0.3048 = 5278.87
		{(100*Foot - Inch).Text(us), "1199 in"},
		{(96 * Inch).Text(si), "243.8 cm"}, // 243.84
		{(96 * Inch).Text(comma), "243,8 cm"},
		{(2440 * Millimetre).Text(si), "244 cm"},
		{(11 * Inch / 64).Text(si), "4.4 mm"}, // 4.365625
		{(1609 * Metre).Text(si), "1609 m"},
		{Length(math.MinInt64).Text(si), "-9223372036.9 m"},
		{Length(math.MaxInt64).Text(us), "30260406945 ft"}, // 9223372036.854775807 / 0.3048 = 30260406945.06
		{(64 * Millilitre).Text(us), "64 mL"},
		{(64250 * Microlitre).Text(si), "64.3 mL"},
		{(4125 * Microlitre).Text(comma), "4,13 mL"},
		{(202 * Microlitre).Text(si), "0.202 mL"},
		{(12800 * Millilitre).Text(si), "12.8 L"},
		{(200 * Milligram).Text(si), "200 mg"},
		{(6 * Gram).Text(si), "6 g"},
		{(12_500 * Gram).Text(si), "12.5 kg"},
		{(45 * Second).Text(si), "45 s"},
		{(150 * Second).Text(comma), "2,5 min"},
		{(25 * Minute).Text(si), "25 min"},
		{(Hour - Second).Text(si), "1 h"},
		{(80 * Minute).Text(si), "1 h 20 min"},
		{(-80 * Minute).Text(si), "-1 h 20 min"},
		{(2 * Day).Text(si), "2 d"},
		{(2*Day - Second).Text(si), "2 d"},
		{(3*Day + 4*Hour).Text(si), "3 d 4 h"},
		{(10 * PSI).Text(us), "10 psi"},
		{(10 * PSI).Text(si), "68.9 kPa"},
		{(10 * PSI).Text(comma), "68,9 kPa"},
		{Pressure(math.NaN()).Text(si), "NaN kPa"},
		{Celsius(20).Text(us), "68 °F"},
		{Celsius(20).Text(si), "20 °C"},
		{Celsius(-0.04).Text(si), "0 °C"}, // never "-0"
		{Celsius(32).Text(us), "89.6 °F"},
		{(45 * Degree).Text(si), "45°"},
		{VolumePerLength{2 * Millilitre, Centimetre}.Text(us), "2 mL/cm"},
		{VolumePerLength{Millilitre, 2 * Inch}.Text(si), "1 mL/2 in"},
		{VolumePerLength{}.Text(si), "0 mL/cm"},
		{MassPerLength{200 * Milligram, Inch}.Text(comma), "0,2 g/in"},
		{MassPerVolume{40 * Gram, Litre}.Text(si), "40 g/L"},
		{MassPerVolume{40 * Milligram, Millilitre}.Text(si), "0.04 g/1 mL"},
		{MassPerVolume{}.Text(si), "0 g/L"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestFrac(t *testing.T) {
	for _, c := range []struct {
		l    Length
		den  int
		want string
	}{
		{11 * Inch / 64, 64, "11/64 in"}, {32 * Inch / 64, 64, "1/2 in"}, {3 * Inch / 16, 16, "3/16 in"},
		{Length(4_366_000), 64, "11/64 in"}, // 4.366 mm
		{12 * Inch, 64, "12 in"}, {Inch - 1, 8, "1 in"}, {-Inch / 2, 8, "-1/2 in"}, {Inch / 3, 0, "0 in"}, {Inch / 3, 3, "1/3 in"},
	} {
		if got := c.l.Frac(c.den); got != c.want {
			t.Errorf("%d nm in 1/%d: %q, want %q", c.l, c.den, got, c.want)
		}
	}
}

func TestTape(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{(12*Inch + Inch/8 + Inch/20).Tape(us), "12 1/8 in"},
		{(12*Inch + Inch/16).Tape(us), "12 1/8 in"},
		{(2444 * Millimetre).Tape(si), "244.5 cm"},
		{(2442 * Millimetre).Tape(si), "244 cm"},
		{(2445 * Millimetre).Tape(comma), "244,5 cm"},
		{(0 * Inch).Tape(us), "0 in"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestRoundTo(t *testing.T) {
	for _, c := range []struct{ l, step, want Length }{
		{7, 5, 5}, {8, 5, 10}, {-7, 5, -5}, {-8, 5, -10}, {5, 10, 10}, {-5, 10, -10}, {4, 10, 0},
		{7, 0, 7}, {7, -5, 7}, {math.MaxInt64, 10, math.MaxInt64 - 7}, {math.MinInt64, 10, math.MinInt64 + 8},
		{math.MaxInt64, math.MaxInt64, math.MaxInt64}, {math.MaxInt64 - 1, math.MaxInt64, math.MaxInt64},
	} {
		if got := c.l.RoundTo(c.step); got != c.want {
			t.Errorf("%d to %d: %d, want %d", c.l, c.step, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(-1e15, 1e15).Draw(t, "l"))
		step := Length(rapid.Int64Range(1, 1e10).Draw(t, "step"))
		got := l.RoundTo(step)
		if got%step != 0 || 2*max(got-l, l-got) > step {
			t.Fatalf("%d to %d gives %d", l, step, got)
		}
	})
}

func TestSystemText(t *testing.T) {
	for _, s := range []System{Metric, Imperial} {
		b, err := s.MarshalText()
		fatal(t, err)
		back := Metric
		if err := back.UnmarshalText(b); err != nil || back != s {
			t.Errorf("%s came back as %v, %v", b, back, err)
		}
	}
	s := Imperial
	if err := s.UnmarshalText([]byte("feet")); err == nil || s != Imperial {
		t.Errorf("feet: %v, %v, want a refusal", s, err)
	}
}

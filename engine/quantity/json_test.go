package quantity

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// The unit codes are those of UCUM; the figures follow from the definitions of
// the units (SP 811 appendix B.8) and plain arithmetic.

func TestMarshal(t *testing.T) {
	for _, c := range []struct {
		v    any
		want string
	}{
		{96 * Inch, `{"value":2438.4,"unit":"mm"}`},
		{Length(1), `{"value":0.000001,"unit":"mm"}`},
		{Length(math.MinInt64), `{"value":-9223372036854.775808,"unit":"mm"}`},
		{4 * Millilitre, `{"value":4,"unit":"mL"}`},
		{200 * Milligram, `{"value":0.2,"unit":"g"}`},
		{Mass(1), `{"value":0.000000001,"unit":"g"}`},
		{80 * Minute, `{"value":80,"unit":"min"}`},
		{90 * Second, `{"value":1.5,"unit":"min"}`},
		{Pressure(68_900), `{"value":68.9,"unit":"kPa"}`},
		{Pressure(0), `{"value":0,"unit":"kPa"}`},
		{Celsius(20), `{"value":20,"unit":"Cel"}`},
		{Celsius(-3), `{"value":-3,"unit":"Cel"}`},
		{Celsius(0), `{"value":0,"unit":"Cel"}`},
		{45 * Degree, `{"value":45,"unit":"deg"}`},
		{VolumePerLength{2 * Millilitre, Centimetre}, `{"value":2,"unit":"mL/cm"}`},
		{VolumePerLength{Millilitre, 2 * Inch}, `{"value":1,"unit":"mL/(2.[in_i])"}`},
		{VolumePerLength{Millilitre, 127 * Centimetre}, `{"value":1,"unit":"mL/(127.cm)"}`},
		{VolumePerLength{Millilitre, 5 * Millimetre}, `{"value":1,"unit":"mL/(5.mm)"}`},
		{VolumePerLength{Millilitre, Inch / 2}, `{"value":1,"unit":"mL/(12700000.nm)"}`},
		{MassPerLength{200 * Milligram, Inch}, `{"value":0.2,"unit":"g/[in_i]"}`},
		{MassPerVolume{40 * Gram, Litre}, `{"value":40,"unit":"g/L"}`},
		{MassPerVolume{40 * Milligram, Millilitre}, `{"value":0.04,"unit":"g/mL"}`},
		{MassPerVolume{}, `null`},
	} {
		if got, err := json.Marshal(c.v); err != nil || string(got) != c.want {
			t.Errorf("%#v: %s, %v, want %s", c.v, got, err, c.want)
		}
	}
	for _, v := range []any{Temperature(3.1763735522036263e-22), Pressure(math.NaN()), Celsius(math.Inf(1)), Angle(math.Inf(-1)), VolumePerLength{1, 0}, MassPerVolume{1, -1}} {
		if got, err := json.Marshal(v); err == nil {
			t.Errorf("%v was written as %s, want an error", v, got)
		}
	}
	outside.Ran(t, "UCUM", "unit codes written in JSON")
}

func TestUnmarshal(t *testing.T) {
	reads(t, `{"value":96,"unit":"[in_i]"}`, 96*Inch)
	reads(t, `{"value":8,"unit":"[ft_i]"}`, 96*Inch)
	reads(t, ` {"unit":"cm","value":243.84} `, 96*Inch)
	reads(t, `{"value":2.4384e0,"unit":"m"}`, 96*Inch)
	reads(t, `{"value":96,"unit":"in"}`, 96*Inch)
	reads(t, `"96 in"`, 96*Inch)
	reads(t, `"8'2\""`, 98*Inch)
	reads(t, `{"value":-5,"unit":"mL"}`, -5*Millilitre) // a stored difference
	reads(t, `{"value":2,"unit":"[foz_us]"}`, Volume(59_147_059))
	reads(t, `{"value":1,"unit":"[lb_av]"}`, Mass(453_592_370_000))
	reads(t, `{"value":2,"unit":"d"}`, 2*Day)
	reads(t, `{"value":10,"unit":"[psi]"}`, 10*PSI)
	reads(t, `{"value":1,"unit":"[in_i'Hg]"}`, Pressure(3386.389))
	reads(t, `{"value":1,"unit":"mm[Hg]"}`, Pressure(133.3224))
	reads(t, `{"value":68,"unit":"[degF]"}`, Celsius(20))
	reads(t, `"68 °F"`, Celsius(20))
	reads(t, `{"value":45,"unit":"deg"}`, 45*Degree)
	reads(t, `"2 mL/cm"`, VolumePerLength{2 * Millilitre, Centimetre})
	reads(t, `{"value":2,"unit":"mL/cm"}`, VolumePerLength{2 * Millilitre, Centimetre})
	reads(t, `{"value":1,"unit":"mL/(2.[in_i])"}`, VolumePerLength{Millilitre, 2 * Inch})
	reads(t, `{"value":200,"unit":"mg/[in_i]"}`, MassPerLength{200 * Milligram, Inch})
	reads(t, `{"value":40,"unit":"g/L"}`, MassPerVolume{40 * Gram, Litre})
	reads(t, `null`, Length(0))
	reads(t, `null`, MassPerVolume{})
	outside.Ran(t, "UCUM", "unit codes read from JSON")
}

func reads[T comparable](t *testing.T, text string, want T) {
	t.Helper()
	var got T
	if err := json.Unmarshal([]byte(text), &got); err != nil || got != want {
		t.Errorf("%s: %v, %v, want %v", text, got, err, want)
	}
}

func TestUnmarshalRefuses(t *testing.T) {
	long := strings.Repeat("9", 200)
	for _, text := range []string{
		`96`, `true`, `[]`, `{}`, `{"value":96}`, `{"unit":"mm"}`, `{"value":"x","unit":"mm"}`, `{"value":96,"unit":""}`,
		`{"value":96,"unit":"psi"}`, `{"value":96,"unit":"mm mm"}`, `{"value":96,"unit":"mm","note":"x"}`, `{"value":null,"unit":"mm"}`,
		`{"value":1e999999999,"unit":"mm"}`, `{"value":1e-999999999,"unit":"mm"}`, `{"value":` + long + `,"unit":"mm"}`,
		`{"value":1e30,"unit":"mm"}`, `"96"`, `""`, `"2,44 m"`, `"\ud800 in"`,
	} {
		l := Inch
		if err := json.Unmarshal([]byte(text), &l); err == nil || l != Inch {
			t.Errorf("%.60s: %d, %v, want a refusal that leaves the value", text, l, err)
		}
	}
	for _, text := range []string{
		`40`, `{"value":40,"unit":"g"}`, `{"value":40,"unit":"g/"}`, `{"value":40,"unit":"/L"}`, `{"value":40,"unit":"g/(0.L)"}`,
		`{"value":40,"unit":"g/(2 L)"}`, `{"value":40,"unit":"g/(-2.L)"}`, `{"value":1e30,"unit":"g/L"}`, `"40 g"`,
		`{"value":40,"unit":"g/(99999999999999999999.L)"}`, `{"value":40,"unit":"g/cm"}`,
	} {
		r := MassPerVolume{1, 1}
		if err := json.Unmarshal([]byte(text), &r); err == nil || r != (MassPerVolume{1, 1}) {
			t.Errorf("%s: %v, %v, want a refusal that leaves the value", text, r, err)
		}
	}
	var p Pressure
	if err := json.Unmarshal([]byte(`{"value":1e308,"unit":"MPa"}`), &p); err == nil {
		t.Errorf("1e308 MPa was read as %v", p)
	}
	var c Temperature
	if err := json.Unmarshal([]byte(`{"value":-300,"unit":"Cel"}`), &c); err == nil {
		t.Errorf("-300 °C was read as %v", c)
	}
}

// TestJSONRoundTrip: what is written reads back to the very same value.
func TestJSONRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64().Draw(t, "n")
		roundTrip(t, Length(n))
		roundTrip(t, Volume(n))
		roundTrip(t, Mass(n))
		roundTrip(t, Span(n))
		per := rapid.Int64Range(1, math.MaxInt64).Draw(t, "per")
		if rapid.Bool().Draw(t, "plain") {
			per = int64(rapid.SampledFrom([]Length{Centimetre, Inch, Foot, Metre, 2 * Inch, Inch / 8, 15 * Millimetre}).Draw(t, "plain per"))
		}
		roundTrip(t, VolumePerLength{Volume(n), Length(per)})
		roundTrip(t, MassPerLength{Mass(n), Length(per)})
		roundTrip(t, MassPerVolume{Mass(n), Volume(per)})
		f := rapid.Float64().Draw(t, "f")
		roundTrip(t, Pressure(f))
		roundTrip(t, Angle(f))
		roundTrip(t, Temperature(rapid.Float64Range(1e-6, 1e9).Draw(t, "kelvin")))
		roundTrip(t, Celsius(rapid.Float64Range(-80, 120).Draw(t, "celsius")))
	})
}

func roundTrip[T comparable](t *rapid.T, v T) {
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	var back T
	if err := json.Unmarshal(b, &back); err != nil || back != v {
		t.Fatalf("%#v written as %s came back as %#v, %v", v, b, back, err)
	}
}

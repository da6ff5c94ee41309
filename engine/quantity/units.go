package quantity

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// kind is a dimension that can be read and printed, with all that the reader
// needs to know of it.
type kind struct {
	name     string // as ParseError says it
	want     string // what would be accepted, by example
	units    []unit
	floor    string // what is wanted instead of a value below zero; "": zero is no limit
	absolute bool   // the floor is of nature and holds for stored values too
}

// unit is one unit of a kind: (value + offset) * num/den is the number of parts
// (nm, nL, ng, ns) or of coherent SI units (Pa, K, rad). All are exact but the
// degree of angle, which has the 18 digits of Degree.
type unit struct {
	names    string // accepted spellings separated by "|"; case counts only where the first rune is '='
	num, den int64
	offset   int64 // in hundredths
	chain    int   // units of one chain may follow each other, larger first: 8 ft 2 in
}

// Chains: 1 feet and inches, 2 metric lengths, 3 pounds and ounces, 4 time.

// of returns n of u in parts or SI units; it uses up n.
func (u *unit) of(n *big.Rat) *big.Rat {
	if u.offset != 0 {
		n.Add(n, big.NewRat(u.offset, 100))
	}
	return n.Mul(n, big.NewRat(u.num, u.den))
}

// negate turns the sign of the number that gave value, not of value itself: for
// a unit with an offset (°C) these differ. It uses up value.
func (u *unit) negate(value *big.Rat) *big.Rat {
	twice := big.NewRat(u.offset, 50)
	twice.Mul(twice, big.NewRat(u.num, u.den))
	return value.Sub(twice, value)
}

const notNegative = "a number not below zero"

func lengthKind() *kind {
	return &kind{
		name: "length",
		want: `a number with a unit, such as 96 in, 8'2", 8-1/2 in or 244 cm`,
		units: []unit{
			// SP 811 B.8: inch 2.54 E+00 cm, foot 3.048 E-01 m, yard 9.144 E-01 m, all exact.
			{`in|in.|inch|inches|"|[in_i]|pulg|pulg.|plg|plg.|pulgada|pulgadas`, int64(Inch), 1, 0, 1},
			{`ft|ft.|foot|feet|'|[ft_i]|pie|pies`, int64(Foot), 1, 0, 1},
			{`yd|yd.|yard|yards|[yd_i]|yarda|yardas`, 3 * int64(Foot), 1, 0, 1},
			{`=nm|nanometre|nanometer|nanómetro`, 1, 1, 0, 0},
			{`=um|=µm|micrometre|micrometer|micrómetro|micrometres|micrometers|micrómetros`, int64(Micrometre), 1, 0, 0},
			{`=mm|millimetre|millimetres|millimeter|millimeters|milímetro|milímetros`, int64(Millimetre), 1, 0, 2},
			{`cm|centimetre|centimetres|centimeter|centimeters|centímetro|centímetros`, int64(Centimetre), 1, 0, 2},
			{`=m|metre|metres|meter|meters|metro|metros`, int64(Metre), 1, 0, 2},
			{`km|kilometre|kilometres|kilometer|kilometers|kilómetro|kilómetros`, 1000 * int64(Metre), 1, 0, 2},
		},
	}
}

func volumeKind() *kind {
	return &kind{
		name: "volume", floor: notNegative,
		want: "a number with a unit, such as 64 mL, 0.5 L or 2 fl oz",
		units: []unit{
			{`=nL|=nl`, 1, 1, 0, 0},
			{`=uL|=µL|=ul|=µl|microlitre|microlitres|microliter|microliters|microlitro|microlitros`, int64(Microlitre), 1, 0, 0},
			{`=mL|=ml|cc|cm3|cm³|millilitre|millilitres|milliliter|milliliters|mililitro|mililitros`, int64(Millilitre), 1, 0, 0},
			{`=cL|=cl|centilitre|centilitres|centiliter|centiliters|centilitro|centilitros`, 10 * int64(Millilitre), 1, 0, 0},
			{`=dL|=dl|decilitre|decilitres|deciliter|deciliters|decilitro|decilitros`, 100 * int64(Millilitre), 1, 0, 0},
			{`l|litre|litres|liter|liters|litro|litros`, int64(Litre), 1, 0, 0},
			// US gallon: 231 in³ exactly (Handbook 44, appendix C), 1 fl oz = 1/128 gal;
			// SP 811 B.8 prints them as 3.785 412 E+00 L and 2.957 353 E+01 mL.
			{`fl oz|fl. oz.|fl oz.|fl. oz|floz|fl.oz.|us fl oz|[foz_us]|fluid ounce|fluid ounces`, 3_785_411_784, 128, 0, 0},
			{`pt|us pt|[pt_us]|pint|pints`, 3_785_411_784, 8, 0, 0},
			{`qt|us qt|[qt_us]|quart|quarts`, 3_785_411_784, 4, 0, 0},
			{`gal|gal.|us gal|[gal_us]|gallon|gallons|galón|galones`, 3_785_411_784, 1, 0, 0},
			// 1 in³ = 16.387 064 mL exactly.
			{`in3|in³|cu in|[cin_i]`, 16_387_064, 1, 0, 0},
		},
	}
}

func massKind() *kind {
	return &kind{
		name: "mass", floor: notNegative,
		want: "a number with a unit, such as 0.2 g, 200 mg or 1 lb 4 oz",
		units: []unit{
			{`=ng`, 1, 1, 0, 0},
			{`=ug|=µg|microgram|micrograms|microgramo|microgramos`, 1000, 1, 0, 0},
			{`=mg|milligram|milligrams|miligramo|miligramos`, int64(Milligram), 1, 0, 0},
			{`g|g.|gram|grams|gramo|gramos`, int64(Gram), 1, 0, 0},
			{`kg|kilogram|kilograms|kilogramo|kilogramos`, 1000 * int64(Gram), 1, 0, 0},
			// SP 811 B.8: pound (avoirdupois) 4.535 924 E-01 kg, ounce 2.834 952 E+01 g;
			// exactly 0.453 592 37 kg and a sixteenth of it.
			{`lb|lb.|lbs|lbs.|pound|pounds|[lb_av]|libra|libras`, 453_592_370_000, 1, 0, 3},
			{`oz|oz.|ounce|ounces|[oz_av]|onza|onzas`, 28_349_523_125, 1, 0, 3},
		},
	}
}

func pressureKind() *kind {
	return &kind{
		name: "pressure",
		want: "a number with a unit, such as 10 psi, 68.9 kPa or 0.69 bar",
		units: []unit{
			// 4.448 221 615 260 5 N over (0.0254 m)², both exact: SP 811 B.8 prints 6.894 757 E+03 Pa.
			{`psi|psig|[psi]|lb/in2|lbf/in2|lbf/in²|lb/in²`, 44_482_216_152_605, 6_451_600_000, 0, 0},
			{`=Pa|pascal|pascals|pascales`, 1, 1, 0, 0},
			{`=hPa`, 100, 1, 0, 0},
			{`kpa|kilopascal|kilopascals|kilopascales`, 1000, 1, 0, 0},
			{`=MPa`, 1_000_000, 1, 0, 0},
			{`bar|bars|bares`, 100_000, 1, 0, 0},
			{`=mbar`, 100, 1, 0, 0},
			// SP 811 B.8: atmosphere, standard 1.013 25 E+05 Pa exactly; kilogram-force
			// per square centimetre 9.806 65 E+04 Pa exactly.
			{`atm`, 101_325, 1, 0, 0},
			{`kgf/cm2|kgf/cm²|kg/cm2|kg/cm²`, 9_806_650, 100, 0, 0},
			// Conventional, SP 811 B.8: inch of mercury 3.386 389 E+03 Pa, millimetre of
			// mercury 1.333 224 E+02 Pa.
			{`inhg|in hg|[in_i'hg]`, 3_386_389, 1000, 0, 0},
			{`mmhg|mm hg|mm[hg]`, 1_333_224, 10_000, 0, 0},
		},
	}
}

func temperatureKind() *kind {
	return &kind{
		name: "temperature", absolute: true,
		floor: "a temperature not below absolute zero (-273.15 °C)",
		want:  "a number with a unit, such as 68 °F or 20 °C",
		units: []unit{
			// SP 811 B.8: T/K = t/°C + 273.15 and T/K = (t/°F + 459.67)/1.8, exact.
			{`°c|° c|c|cel|celsius`, 1, 1, 273_15, 0},
			{`°f|° f|f|[degf]|fahrenheit`, 5, 9, 459_67, 0},
			{`k|kelvin`, 1, 1, 0, 0},
		},
	}
}

func angleKind() *kind {
	return &kind{
		name: "angle",
		want: "a number with a unit, such as 45° or 45 deg",
		units: []unit{
			{`°|deg|deg.|degree|degrees|grado|grados`, 17_453_292_519_943_295, 1_000_000_000_000_000_000, 0, 0},
			{`rad|radian|radians|radián|radianes`, 1, 1, 0, 0},
		},
	}
}

func spanKind() *kind {
	return &kind{
		name: "time span", floor: notNegative,
		want: "a number with a unit, such as 25 min, 1 h 20 min, 90 s or 2 days",
		units: []unit{
			{`=ns`, 1, 1, 0, 0},
			{`=ms`, 1_000_000, 1, 0, 0},
			{`s|s.|sec|sec.|secs|second|seconds|seg|seg.|segundo|segundos`, int64(Second), 1, 0, 4},
			{`min|min.|mins|minute|minutes|minuto|minutos`, int64(Minute), 1, 0, 4},
			{`h|h.|hr|hrs|hour|hours|hora|horas`, int64(Hour), 1, 0, 4},
			{`d|d.|day|days|día|días|dia|dias`, int64(Day), 1, 0, 4},
		},
	}
}

// match finds the longest spelling of a unit of k at the start of s and returns
// it with the number of bytes it takes. A word must end where s has no further
// letter, so that "inx" is not inches.
func (k *kind) match(s string) (*unit, int) {
	var best *unit
	length := 0
	for i := range k.units {
		for rest := k.units[i].names; rest != ""; {
			var name string
			name, rest, _ = strings.Cut(rest, "|")
			if n := spelled(s, name); n > length {
				best, length = &k.units[i], n
			}
		}
	}
	return best, length
}

// spelled returns how many bytes of s the spelling takes; 0: it is not there.
func spelled(s, name string) int {
	exact, isExact := strings.CutPrefix(name, "=")
	n := 0
	for _, want := range exact {
		got, size := utf8.DecodeRuneInString(s[n:])
		if !isExact {
			got = unicode.ToLower(got)
		}
		if size == 0 || got != want {
			return 0
		}
		n += size
	}
	last, _ := utf8.DecodeLastRuneInString(exact)
	next, _ := utf8.DecodeRuneInString(s[n:])
	if unicode.IsLetter(last) && unicode.IsLetter(next) {
		return 0
	}
	return n
}

package quantity

import "testing"

// A list of 10,000 trees has some 40,000 measures: at 10 µs each they take less
// than half a second.

func BenchmarkParseLength(b *testing.B) {
	for b.Loop() {
		if _, err := ParseLength("8 ft 2 1/2 in", Reading{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTape(b *testing.B) {
	l := 244567 * Millimetre / 100
	for b.Loop() {
		l.Tape(Style{})
	}
}

func BenchmarkOver(b *testing.B) {
	r := VolumePerLength{2 * Millilitre, Centimetre}
	for b.Loop() {
		r.Over(96 * Inch)
	}
}

package records

import (
	"fmt"
	"os"
	"testing"
)

// The aim is 1,000,000 records against all profiles in 30 s on two cores: 35,000 a
// second or more, here on all cores that the run has.
func BenchmarkCheck(b *testing.B) {
	var list []Record
	for i := range 64 { // some with gaps, some late, some by older law
		r := base(b).With("record.id", fmt.Sprint(i))
		switch i % 4 {
		case 1:
			r = r.With("target", nil).With("crop.eppo", "tilcor").With("as_of", "2026-07-01")
		case 2:
			r = r.With("date", "2025-06-03").With("ctx.agricultural", true)
		case 3:
			r = r.With("label.rup", false).With("applied_by", "noncertified")
		}
		list = append(list, r)
	}
	b.ReportAllocs()
	b.RunParallel(func(p *testing.PB) {
		for i := 0; p.Next(); i++ {
			Check(list[i%len(list)])
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
}

// The same from the JSON text on, as the door takes it.
func BenchmarkParseAndCheck(b *testing.B) {
	raw, err := os.ReadFile("testdata/cases/base.json")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	b.SetBytes(int64(len(raw)))
	b.RunParallel(func(p *testing.PB) {
		for p.Next() {
			r, err := Parse(raw)
			if err != nil {
				b.Fatal(err)
			}
			Check(r)
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
}

// A record book makes each of its records once.
func BenchmarkOf(b *testing.B) {
	f := invented(b)
	b.ReportAllocs()
	for b.Loop() {
		Of(f)
	}
}

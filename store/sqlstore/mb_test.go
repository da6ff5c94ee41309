package sqlstore

import (
	"testing"

	"sapwell/entries"
	"sapwell/internal/daybook"
	"sapwell/journal"
	"sapwell/views"
)

func BenchmarkUnderstand(b *testing.B) {
	all := written(b, daybook.Unsigned(1, 4), 5000)[1000:]
	for i := 0; b.Loop(); i++ {
		understand(all[i%len(all)])
	}
}
func BenchmarkReadEntry(b *testing.B) {
	all := written(b, daybook.Unsigned(1, 4), 5000)[1000:]
	n := 0
	for i := 0; b.Loop(); i++ {
		journal.ReadEntry(all[i%len(all)].Line)
		n += len(all[i%len(all)].Line)
	}
	b.ReportMetric(float64(n)/float64(b.N), "bytes/line")
}
func BenchmarkHash(b *testing.B) {
	all := written(b, daybook.Unsigned(1, 4), 5000)[1000:]
	for i := 0; b.Loop(); i++ {
		journal.HashLine(all[i%len(all)].Line)
	}
}
func BenchmarkFold100(b *testing.B) {
	all := written(b, daybook.Unsigned(1, 4), 20000)
	rows := map[entries.Subject]views.Row{}
	ext, fold, subj := 0, 0, 0
	n := 0
	for b.Loop() {
		n = (n + 100) % 20000
		if n == 0 {
			rows = map[entries.Subject]views.Row{}
		}
		news := told{}
		for _, e := range all[n : n+100] {
			news.add(kept{e, e.Time}, understand(e))
		}
		for s, items := range news {
			subj++
			if row, ok := rows[s]; ok {
				r, ok, err := views.Extend(row, items)
				if err != nil {
					b.Fatal(err)
				}
				if ok {
					rows[s] = r
					ext++
					continue
				}
			}
			fold++
			r, err := views.Fold(s, items)
			if err != nil {
				b.Fatal(err)
			}
			rows[s] = r
		}
	}
	b.ReportMetric(float64(subj)/float64(b.N), "subjects")
	b.ReportMetric(float64(fold)/float64(b.N), "folds")
}

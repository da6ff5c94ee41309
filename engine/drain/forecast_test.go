package drain_test

import (
	"fmt"
	"testing"

	"sapwell/engine/drain"
	"sapwell/engine/host"
	"sapwell/engine/quantity"
)

func TestShow(t *testing.T) {
	for _, c := range []host.Uptake{host.Fast, host.Medium, host.Slow, host.VerySlow, host.UnknownUptake} {
		for _, n := range []int{0, 1, 3, 10, 100, 1000} {
			var past []drain.Timed
			for i := range n {
				past = append(past, drain.Timed{c, quantity.Span(20+i%7*5) * quantity.Minute, i%3 != 0})
			}
			f := drain.Predict(c, past, nil)
			fmt.Println(c, n, f.P50.Minutes(), f.P90.Minutes(), f.GSD)
		}
	}
}
func BenchmarkPredict(b *testing.B) {
	for _, n := range []int{0, 10, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			var past []drain.Timed
			for i := range n {
				past = append(past, drain.Timed{host.Slow, quantity.Span(20+i%7*5) * quantity.Minute, i%5 != 0})
			}
			for b.Loop() {
				drain.Predict(host.Slow, past, nil)
			}
		})
	}
}

package sqlstore

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// parallel asks every one on all processors and lists the answers in order.
func parallel[A, B any](all []A, ask func(A) B) []B {
	answers := make([]B, len(all))
	workers := min(runtime.GOMAXPROCS(0), len(all)/4) // starting one costs as much as a few answers
	if workers < 2 {
		for i, one := range all {
			answers[i] = ask(one)
		}
		return answers
	}
	var next atomic.Int64
	var done sync.WaitGroup
	for range workers {
		done.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(all); i = int(next.Add(1)) - 1 {
				answers[i] = ask(all[i])
			}
		})
	}
	done.Wait()
	return answers
}

func firstError(all []error) error {
	for _, err := range all {
		if err != nil {
			return err
		}
	}
	return nil
}

package main

import (
	"runtime"
	"slices"
	"testing"
	"time"
)

func upTo(n int) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		for i := range n {
			if !yield(i) {
				return
			}
		}
	}
}

func TestOrderedKeepsOrderWhateverTheWorkers(t *testing.T) {
	for _, n := range []int{0, 1, 63, 64, 65, 1000} {
		for _, workers := range []int{1, 2, 7} {
			got := slices.Collect(ordered(workers, upTo(n), func() func(int) int { return func(i int) int { return i * i } }))
			if len(got) != n {
				t.Fatalf("%d items, %d workers: %d results", n, workers, len(got))
			}
			for i, v := range got {
				if v != i*i {
					t.Fatalf("%d items, %d workers: result %d is %d", n, workers, i, v)
				}
			}
		}
	}
}

func TestOrderedStopsWhenTheReaderDoes(t *testing.T) {
	before := runtime.NumGoroutine()
	for range ordered(3, upTo(100000), func() func(int) int { return func(i int) int { return i } }) {
		break
	}
	for range 100 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("%d goroutines before, %d left after", before, runtime.NumGoroutine())
}

package main

import "iter"

// ordered applies a worker's function to every item, on as many goroutines as
// asked, and yields the results in the order of the items: what comes out does
// not depend on how many cores there are. At most a few chunks are held at once.
// newWorker is called once a goroutine, so that each has scratch of its own.
func ordered[In, Out any](workers int, in iter.Seq[In], newWorker func() func(In) Out) iter.Seq[Out] {
	const chunk = 64 // items a hand-over: small enough to stream, large enough to be cheap
	type job struct {
		items []In
		done  chan []Out
	}
	return func(yield func(Out) bool) {
		todo, queue := make(chan job), make(chan job, 2*workers)
		quit := make(chan struct{})
		defer close(quit)
		for range workers {
			go func() {
				work := newWorker()
				for j := range todo {
					out := make([]Out, len(j.items))
					for i, item := range j.items {
						out[i] = work(item)
					}
					j.done <- out
				}
			}()
		}
		go func() {
			defer close(queue)
			defer close(todo)
			send := func(items []In) bool {
				j := job{items, make(chan []Out, 1)}
				select {
				case queue <- j:
				case <-quit:
					return false
				}
				select {
				case todo <- j:
				case <-quit:
					return false
				}
				return true
			}
			items := make([]In, 0, chunk)
			for item := range in {
				if items = append(items, item); len(items) == chunk {
					if !send(items) {
						return
					}
					items = make([]In, 0, chunk)
				}
			}
			if len(items) > 0 {
				send(items)
			}
		}()
		for j := range queue {
			for _, out := range <-j.done {
				if !yield(out) {
					return
				}
			}
		}
	}
}

package main

import "iter"

// chunk is how many items are handed over at once: few enough to stream, enough
// to make the hand-over cheap.
const chunk = 64

// ordered applies a worker's function to every item, on as many goroutines as
// asked, and yields the results in the order of the items: what comes out does
// not depend on how many cores there are. At most a few chunks are held at once.
// newWorker is called once a goroutine, so that each has scratch of its own.
func ordered[In, Out any](workers int, in iter.Seq[In], newWorker func() func(In) Out) iter.Seq[Out] {
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
			for items := range chunks(in) {
				j := job{items, make(chan []Out, 1)}
				if !send(queue, j, quit) || !send(todo, j, quit) {
					return
				}
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

// send hands v over unless the reader has gone.
func send[T any](to chan<- T, v T, quit <-chan struct{}) bool {
	select {
	case to <- v:
		return true
	case <-quit:
		return false
	}
}

// chunks cuts a sequence into slices.
func chunks[T any](in iter.Seq[T]) iter.Seq[[]T] {
	return func(yield func([]T) bool) {
		items := make([]T, 0, chunk)
		for item := range in {
			if items = append(items, item); len(items) < chunk {
				continue
			}
			if !yield(items) {
				return
			}
			items = make([]T, 0, chunk)
		}
		if len(items) > 0 {
			yield(items)
		}
	}
}

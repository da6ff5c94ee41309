package server

import (
	"context"
	"sync"

	"sapwell/journal"
)

// turns lets one at a time in for each name, and only so many in all. The others
// wait, with their bodies unread.
type turns struct {
	slots chan struct{}

	mu   sync.Mutex
	each map[journal.Hash]*turn
}

type turn struct {
	in   chan struct{}
	want int // who is in or waits
}

func newTurns(most int) *turns {
	return &turns{slots: make(chan struct{}, most), each: map[journal.Hash]*turn{}}
}

// take waits for a turn and returns what ends it.
func (t *turns) take(ctx context.Context, name journal.Hash) (release func(), err error) {
	mine := t.join(name)
	select {
	case mine.in <- struct{}{}:
	case <-ctx.Done():
		t.leave(name, mine)
		return nil, ctx.Err()
	}
	select {
	case t.slots <- struct{}{}:
	case <-ctx.Done():
		<-mine.in
		t.leave(name, mine)
		return nil, ctx.Err()
	}
	return func() {
		<-t.slots
		<-mine.in
		t.leave(name, mine)
	}, nil
}

func (t *turns) join(name journal.Hash) *turn {
	t.mu.Lock()
	defer t.mu.Unlock()
	mine, ok := t.each[name]
	if !ok {
		mine = &turn{in: make(chan struct{}, 1)}
		t.each[name] = mine
	}
	mine.want++
	return mine
}

func (t *turns) leave(name journal.Hash, mine *turn) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if mine.want--; mine.want == 0 {
		delete(t.each, name)
	}
}

package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"
)

// bar shows how much of a list has been read: the number of trees is not known
// before the end, the size of the file is. It is drawn in place, and wiped before
// something is said and at the end, so that no line of talk gets lost.
type bar struct {
	list io.Reader
	talk io.Writer
	now  func() time.Time
	size int64

	mu    sync.Mutex // the list is read on one goroutine, and faults are told on another
	read  int64
	drawn time.Time
	shown bool
}

const (
	// worthABar is the size from which a bar is shown; less is done before it is
	// seen.
	worthABar = 256 << 10
	barWidth  = 60
	redraw    = 100 * time.Millisecond
	wipe      = "\r\x1b[K"
)

// progress returns where to read the list, where to talk meanwhile, and what to
// call at the end.
func (w world) progress(f *os.File) (list io.Reader, talk io.Writer, done func()) {
	info, err := f.Stat()
	if err != nil || !w.talkative || info.Size() < worthABar {
		return f, w.stderr, func() {}
	}
	b := &bar{list: f, talk: w.stderr, now: w.now, size: info.Size()}
	return b, talker{b}, func() { b.mu.Lock(); b.hide(); b.mu.Unlock() }
}

// Read reads the list and draws the bar when it is time to.
func (b *bar) Read(p []byte) (int, error) {
	n, err := b.list.Read(p)
	b.mu.Lock()
	defer b.mu.Unlock()
	b.read += int64(n)
	if now := b.now(); now.Sub(b.drawn) >= redraw {
		b.drawn, b.shown = now, true
		done := min(b.read, b.size) // the file may have grown
		fmt.Fprintf(b.talk, wipe+"sapwell [%-*s] %d %%", barWidth, strings.Repeat("=", int(barWidth*done/b.size)), 100*done/b.size)
	}
	return n, err
}

func (b *bar) hide() {
	if b.shown {
		io.WriteString(b.talk, wipe)
		b.shown = false
	}
}

// talker says something where the bar stands; the next read draws it again.
type talker struct{ *bar }

func (t talker) Write(p []byte) (int, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.hide()
	return t.talk.Write(p)
}

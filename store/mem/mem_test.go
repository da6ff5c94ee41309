package mem

import (
	"context"
	"crypto"
	"fmt"
	"os/exec"
	"strings"
	"testing"

	"sapwell/internal/history"
	"sapwell/internal/outside"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) store.Store { return New() })
}

// The phone runs this as WebAssembly: what it cannot use must not be in it.
func TestNeedsNoNetAndNoDatabase(t *testing.T) {
	list := exec.Command(outside.Tool(t, "go"), "list", "-deps", ".")
	list.Env = append(list.Environ(), "GOOS=js", "GOARCH=wasm")
	deps, err := list.Output()
	if err != nil {
		t.Fatal(err)
	}
	for dep := range strings.Lines(string(deps)) {
		switch dep = strings.TrimSpace(dep); dep {
		case "net", "net/http", "database/sql":
			t.Errorf("needs %s", dep)
		}
	}
}

// day is a journal of so many notes on one of a hundred trees.
func day(b *testing.B, notes int) (*history.History, [][]byte) {
	b.Helper()
	h := history.New("bench")
	text := "office: firm org\noffice: park grounds\n"
	for i := range 100 {
		text += fmt.Sprintf("office: t%d tree park\n", i)
	}
	for i := range notes {
		text += fmt.Sprintf("phone: n%d note tree t%d\n", i, i%100)
	}
	if err := h.Tell(text); err != nil {
		b.Fatal(err)
	}
	return h, h.Lines(strings.Join(h.Names(), " "))
}

func BenchmarkMerge500(b *testing.B) {
	h, lines := day(b, 398)
	for b.Loop() {
		l := NewLedger(h.ID("firm"))
		if m, err := l.Merge(context.Background(), lines, 1, nil); err != nil || len(m.Added) != 500 {
			b.Fatal(err, m.Refused)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	h, lines := day(b, 398)
	l := NewLedger(h.ID("firm"))
	if _, err := l.Merge(context.Background(), lines, 1, nil); err != nil {
		b.Fatal(err)
	}
	var signer crypto.Signer = h.Signer("office")
	n := 0
	for b.Loop() {
		n++
		d, err := h.Draft("office", fmt.Sprintf("b%d note tree t%d", n, n%100))
		if err != nil {
			b.Fatal(err)
		}
		_, err = l.Write(context.Background(), signer, 1, func(store.Reader) ([]journal.Draft, error) { return []journal.Draft{d}, nil })
		if err != nil {
			b.Fatal(err)
		}
	}
}

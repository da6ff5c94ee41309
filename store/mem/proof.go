package mem

import (
	"context"
	"crypto"
	"fmt"

	"sapwell/journal"
	"sapwell/store"
)

// Head: see store.Ledger.
func (l *Ledger) Head(ctx context.Context, signer crypto.Signer, at int64) ([]byte, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	size := l.tree.Size()
	if n := len(l.heads); n > 0 && l.heads[n-1].size == size {
		return l.heads[n-1].line, nil
	}
	root, err := l.tree.Root(size)
	if err != nil {
		return nil, err
	}
	line, err := journal.SignTreeHead(journal.TreeHead{Root: root, Size: size, Time: at}, signer)
	if err != nil {
		return nil, err
	}
	l.heads = append(l.heads, head{size, line})
	return line, nil
}

// Proof: see store.Ledger.
func (l *Ledger) Proof(ctx context.Context, id journal.ID, size int64) (store.Proof, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	h, ok := l.first[id]
	if _, own := l.log.Entry(h); !ok || !own {
		return store.Proof{}, fmt.Errorf("entry %s: %w", id, store.ErrNotFound)
	}
	if size == 0 {
		size = l.tree.Size()
	}
	n := l.known[h].n
	inclusion, err := l.tree.Inclusion(n, size)
	if err != nil {
		return store.Proof{}, err
	}
	root, err := l.tree.Root(size)
	if err != nil {
		return store.Proof{}, err
	}
	e, _ := l.log.Entry(h)
	p := store.Proof{Line: e.Line, Receipt: l.receipts[n].Line(), N: n, Size: size, Root: root, Inclusion: inclusion}
	return p, ctx.Err()
}

// Consistency: see store.Ledger.
func (l *Ledger) Consistency(ctx context.Context, m, n int64) ([]journal.Hash, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return l.tree.Consistency(m, n)
}

package mem

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"maps"
	"slices"

	"sapwell/journal"
	"sapwell/store"
)

// PutBlob: see store.Ledger.
func (l *Ledger) PutBlob(ctx context.Context, data []byte, at int64) (journal.Hash, error) {
	sum := journal.Hash(sha256.Sum256(data))
	l.mu.Lock()
	defer l.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return sum, err
	}
	l.blobs[sum] = bytes.Clone(data)
	return sum, nil
}

// Blob: see store.Ledger.
func (l *Ledger) Blob(ctx context.Context, sum journal.Hash) ([]byte, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	data, ok := l.blobs[sum]
	if !ok {
		return nil, fmt.Errorf("blob %s: %w", sum, store.ErrNotFound)
	}
	return bytes.Clone(data), ctx.Err()
}

// Blobs: see store.Ledger.
func (l *Ledger) Blobs(ctx context.Context) ([]journal.Hash, error) {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return slices.SortedFunc(maps.Keys(l.blobs), compare), ctx.Err()
}

package sqlstore

import (
	"context"
	"io"

	"sapwell/journal"
)

func (l *ledger) Offer(ctx context.Context) ([]journal.Known, error) { panic("to come") }
func (l *ledger) Missing(ctx context.Context, offer []journal.Known, limit int) (lines [][]byte, more bool, err error) {
	panic("to come")
}
func (l *ledger) Export(ctx context.Context, w io.Writer) error { panic("to come") }
func (s *Store) Import(ctx context.Context, r io.Reader, at int64) (journal.ID, error) {
	panic("to come")
}

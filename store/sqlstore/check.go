package sqlstore

import (
	"context"

	"sapwell/store"
)

// Check: see store.Store.
func (s *Store) Check(ctx context.Context) []store.Finding {
	var all []store.Finding
	err := s.read(ctx, func(t *tx) error {
		all = s.dialect.check(t)
		return nil
	})
	return append(all, store.Finding{What: "database answers", Err: err})
}

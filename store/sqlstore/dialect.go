package sqlstore

import (
	"context"
	"database/sql"
	"strings"

	"sapwell/journal"
	"sapwell/store"
)

// dialect is what differs between the engines.
type dialect struct {
	name    string
	version string            // a query for the engine's version
	words   *strings.Replacer // of a migration
	readTx  *sql.TxOptions    // a transaction that sees one moment
	// lock keeps other writers of the organisation out until the transaction ends.
	lock func(t *tx, org journal.ID) error
	// schema tells whether there is a table of that name.
	schema string
	// spill says whether temporary tables may grow beyond what memory holds.
	spill func(ctx context.Context, p *pool, toDisk bool) error
	// classify is the store's or the accounts' error that a driver's error stands
	// for, nil if there is none.
	classify func(error) error
	// check is what Check asks beyond what it asks of both.
	check func(*tx) []store.Finding
}

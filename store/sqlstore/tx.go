package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
	"sync"
)

// pool is a number of connections, with statements that were prepared.
type pool struct {
	db   *sql.DB
	rows []int // how many rows to insert by one statement: the most, fewer, 1

	mu     sync.Mutex
	ready  map[string]*sql.Stmt // nil where the driver keeps them itself
	wanted []string
}

func (p *pool) close() error { return p.db.Close() }

// begin starts a transaction. What transactions before it ran is prepared first:
// within one the only connection may be taken.
func (p *pool) begin(ctx context.Context, opts *sql.TxOptions) (*tx, error) {
	p.prepare(ctx)
	t, err := p.db.BeginTx(ctx, opts)
	return &tx{Tx: t, ctx: ctx, pool: p, own: make(map[string]*sql.Stmt)}, err
}

// prepare prepares what can be; the rest goes on to be run as it is.
func (p *pool) prepare(ctx context.Context) {
	p.mu.Lock()
	wanted := p.wanted
	p.wanted = nil
	p.mu.Unlock()
	// Not under the lock: this waits for a connection, and who has it may want the lock.
	for _, text := range wanted {
		stmt, err := p.db.PrepareContext(ctx, text)
		if err != nil {
			continue
		}
		p.mu.Lock()
		p.ready[text] = stmt
		p.mu.Unlock()
	}
}

// tx is a transaction.
type tx struct {
	*sql.Tx
	ctx  context.Context
	pool *pool
	own  map[string]*sql.Stmt // what was prepared within it, nil where it was run once
}

// prepared is the statement of this text, nil where it has to be run as it is: for
// the first time.
func (t *tx) prepared(text string) *sql.Stmt {
	if stmt := t.pool.prepared(text); stmt != nil {
		return t.StmtContext(t.ctx, stmt)
	}
	if t.pool.ready == nil {
		return nil
	}
	stmt, again := t.own[text]
	if again && stmt == nil {
		stmt, _ = t.PrepareContext(t.ctx, text) // else it is run as it is, and says what is wrong
	}
	t.own[text] = stmt
	return stmt
}

// prepared is the statement of this text, nil where there is none yet.
func (p *pool) prepared(text string) *sql.Stmt {
	if p.ready == nil {
		return nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	stmt, ok := p.ready[text]
	if !ok {
		p.ready[text] = nil // wanted once
		p.wanted = append(p.wanted, text)
	}
	return stmt
}

func (t *tx) exec(text string, args ...any) error {
	var err error
	if stmt := t.prepared(text); stmt != nil {
		_, err = stmt.ExecContext(t.ctx, args...)
	} else {
		_, err = t.ExecContext(t.ctx, text, args...)
	}
	return err
}

func (t *tx) row(text string, args ...any) *sql.Row {
	if stmt := t.prepared(text); stmt != nil {
		return stmt.QueryRowContext(t.ctx, args...)
	}
	return t.QueryRowContext(t.ctx, text, args...)
}

func (t *tx) query(text string, args ...any) (*sql.Rows, error) {
	if stmt := t.prepared(text); stmt != nil {
		return stmt.QueryContext(t.ctx, args...)
	}
	return t.QueryContext(t.ctx, text, args...)
}

// each calls take for every row. While it does, the transaction can do nothing
// else: PostgreSQL answers one question at a time.
func (t *tx) each(text string, args []any, take func(*sql.Rows) error) error {
	rows, err := t.query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close() //nolint:errcheck // Err has it
	for rows.Next() {
		if err := take(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// scan reads one row; ok is false where there is none.
func (t *tx) scan(text string, args []any, to ...any) (ok bool, err error) {
	err = t.row(text, args...).Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

// has tells whether there is a row.
func (t *tx) has(text string, args ...any) (bool, error) {
	var one int
	return t.scan(text, args, &one)
}

// insert adds rows, many at a time. Each has a value for each of the columns,
// which stand in parentheses after the table's name; tail follows the values.
func (t *tx) insert(into, tail string, rows [][]any) error {
	for _, size := range t.pool.rows {
		for ; len(rows) >= size; rows = rows[size:] {
			args := make([]any, 0, size*len(rows[0]))
			for _, row := range rows[:size] {
				args = append(args, row...)
			}
			if err := t.exec(insertText(into, tail, size, len(rows[0])), args...); err != nil {
				return err
			}
		}
	}
	return nil
}

// insertText is INSERT INTO … VALUES ($1, $2), ($3, $4) …
func insertText(into, tail string, rows, columns int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "INSERT INTO %s VALUES ", into)
	for i := range rows * columns {
		switch {
		case i == 0:
			b.WriteByte('(')
		case i%columns == 0:
			b.WriteString("), (")
		default:
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "$%d", i+1)
	}
	b.WriteString(") ")
	b.WriteString(tail)
	return b.String()
}

// fixed scans bytes of a known number into place.
type fixed []byte

// Scan is for database/sql.
func (f fixed) Scan(from any) error {
	b, ok := from.([]byte)
	if !ok || len(b) != len(f) {
		return fmt.Errorf("%T of %d bytes in the database, want %d bytes", from, len(b), len(f))
	}
	copy(f, b)
	return nil
}

package sqlstore

import (
	"bufio"
	"context"
	"database/sql"
	"io"

	"sapwell/journal"
)

// Export: see store.Ledger.
func (l *ledger) Export(ctx context.Context, w io.Writer) error {
	out := bufio.NewWriterSize(w, 1<<16)
	err := l.read(ctx, func(d *desk) error {
		if err := d.exportEntries(out); err != nil {
			return err
		}
		return d.exportReceipts(out)
	})
	if err != nil {
		return err
	}
	return out.Flush()
}

// writeLine is a line with its line feed. A writer's first error stays.
func writeLine(out *bufio.Writer, line []byte) error {
	_, _ = out.Write(line)
	return out.WriteByte('\n')
}

// exportEntries writes entries page by page: once a reader hangs up nothing more
// is asked of the database.
func (d *desk) exportEntries(out *bufio.Writer) error {
	var at journal.Known
	for n := chunk; n == chunk; {
		n = 0
		err := d.each(`SELECT device, seq, hash, line FROM entry WHERE org = $1 AND (device, seq, hash) > ($2, $3, $4) ORDER BY device, seq, hash LIMIT $5`,
			[]any{d.org[:], at.Device[:], at.Seq, at.Hash[:], chunk}, func(rows *sql.Rows) error {
				var line sql.RawBytes
				n++
				if err := rows.Scan(fixed(at.Device[:]), &at.Seq, fixed(at.Hash[:]), &line); err != nil {
					return err
				}
				return writeLine(out, line)
			})
		if err != nil {
			return err
		}
	}
	return nil
}

// exportReceipts writes receipts, each below the heads of the size before it, and
// the heads of the whole.
func (d *desk) exportReceipts(out *bufio.Writer) error {
	size, err := d.size()
	if err != nil {
		return err
	}
	for n := int64(0); n <= size; n += chunk {
		heads, err := d.heads(n, n+chunk)
		if err != nil {
			return err
		}
		write := func(size int64) (err error) {
			for ; len(heads) > 0 && heads[0].size == size && err == nil; heads = heads[1:] {
				err = writeLine(out, heads[0].line)
			}
			return err
		}
		err = d.receipts(n, n+chunk, func(r journal.Receipt) error {
			if err := write(r.N); err != nil {
				return err
			}
			return writeLine(out, r.Line())
		})
		if err == nil {
			err = write(size)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

type keptHead struct {
	size int64
	line []byte
}

// heads lists the heads of sizes from one to before another.
func (d *desk) heads(from, to int64) (all []keptHead, err error) {
	err = d.each(`SELECT size, line FROM head WHERE org = $1 AND size >= $2 AND size < $3 ORDER BY size, k`,
		[]any{d.org[:], from, to}, func(rows *sql.Rows) error {
			var h keptHead
			err := rows.Scan(&h.size, &h.line)
			all = append(all, h)
			return err
		})
	return all, err
}

package sqlstore

import (
	"context"
	"crypto"
	"database/sql"
	"fmt"

	"sapwell/journal"
	"sapwell/store"
)

const (
	tileLevels = 8
	tileWidth  = 1 << tileLevels // hashes in a full tile
)

// tree is the receipt tree as the tiles have it. Only a tile that is not full yet
// has to be worked out: from the receipts, or from the roots below.
type tree struct {
	d    *desk
	size int64
	seen map[tileName]*journal.Tree
}

type tileName struct {
	level int
	i     int64
}

func (d *desk) tree(size int64) *tree {
	return &tree{d: d, size: size, seen: make(map[tileName]*journal.Tree)}
}

// Node is for journal.Nodes.
func (t *tree) Node(level int, i int64) (journal.Hash, error) {
	within := level % tileLevels
	name := tileName{level / tileLevels, i >> (tileLevels - within)}
	tile, ok := t.seen[name]
	if !ok {
		var err error
		if tile, err = t.load(name); err != nil {
			return journal.Hash{}, err
		}
		t.seen[name] = tile
	}
	return tile.Node(within, i&(1<<(tileLevels-within)-1))
}

func (t *tree) load(name tileName) (*journal.Tree, error) {
	var tile journal.Tree
	var hashes []byte
	full, err := t.d.scan(`SELECT hashes FROM tile WHERE org = $1 AND level = $2 AND i = $3`,
		[]any{t.d.org[:], name.level, name.i}, &hashes)
	if !full && err == nil {
		return &tile, t.gather(name, &tile)
	}
	for ; len(hashes) >= len(journal.Hash{}); hashes = hashes[len(journal.Hash{}):] {
		tile.Append(journal.Hash(hashes[:len(journal.Hash{})]))
	}
	return &tile, err
}

// gather works out a tile from what it stands on.
func (t *tree) gather(name tileName, tile *journal.Tree) error {
	from, to := name.i*tileWidth, (name.i+1)*tileWidth
	if name.level > 0 {
		return t.d.each(`SELECT root FROM tile WHERE org = $1 AND level = $2 AND i >= $3 AND i < $4 ORDER BY i`,
			[]any{t.d.org[:], name.level - 1, from, to}, func(rows *sql.Rows) error {
				var root journal.Hash
				err := rows.Scan(fixed(root[:]))
				tile.Append(root)
				return err
			})
	}
	return t.d.receipts(from, min(to, t.size), func(r journal.Receipt) error {
		tile.Append(journal.HashLine(r.Line()))
		return nil
	})
}

// receipts calls take for the receipts from one number to before another.
func (d *desk) receipts(from, to int64, take func(journal.Receipt) error) error {
	return d.each(`SELECT hash, n, received FROM entry WHERE org = $1 AND n >= $2 AND n < $3 ORDER BY n`,
		[]any{d.org[:], from, to}, func(rows *sql.Rows) error {
			var r journal.Receipt
			if err := rows.Scan(fixed(r.Entry[:]), &r.N, &r.Time); err != nil {
				return err
			}
			return take(r)
		})
}

// putTiles keeps the tiles that became full as the tree grew.
func (d *desk) putTiles(was, is int64) error {
	t := d.tree(is)
	for level := 0; was/tileWidth < is/tileWidth; level++ {
		was, is = was/tileWidth, is/tileWidth
		for i := was; i < is; i++ {
			if err := t.put(tileName{level, i}); err != nil {
				return err
			}
		}
	}
	return nil
}

func (t *tree) put(name tileName) error {
	root, hashes, err := t.full(name)
	if err != nil {
		return fmt.Errorf("tile %d of level %d: %w", name.i, name.level, err)
	}
	return t.d.exec(`INSERT INTO tile (org, level, i, root, hashes) VALUES ($1, $2, $3, $4, $5)`,
		t.d.org[:], name.level, name.i, root[:], hashes)
}

// full works out a tile that is full.
func (t *tree) full(name tileName) (root journal.Hash, hashes []byte, err error) {
	var tile journal.Tree
	if err := t.gather(name, &tile); err != nil {
		return root, nil, err
	}
	for i := range tile.Size() {
		h, err := tile.Node(0, i)
		if err != nil {
			return root, nil, err
		}
		hashes = append(hashes, h[:]...)
	}
	root, err = tile.Root(tileWidth)
	return root, hashes, err
}

// Head: see store.Ledger.
func (l *ledger) Head(ctx context.Context, signer crypto.Signer, at int64) (line []byte, err error) {
	err = l.read(ctx, func(d *desk) error {
		line, err = d.headNow()
		return err
	})
	if line != nil || err != nil {
		return line, err
	}
	err = l.write(ctx, func(d *desk) error {
		if line, err = d.headNow(); line != nil || err != nil {
			return err
		}
		line, err = d.newHead(signer, at)
		return err
	})
	if err != nil {
		return nil, err
	}
	return line, nil
}

// headNow is the last head, nil where entries came in since.
func (d *desk) headNow() (line []byte, err error) {
	size, err := d.size()
	if err == nil {
		_, err = d.scan(`SELECT line FROM head WHERE org = $1 AND size = $2 ORDER BY k DESC LIMIT 1`, []any{d.org[:], size}, &line)
	}
	return line, err
}

func (d *desk) newHead(signer crypto.Signer, at int64) ([]byte, error) {
	size, err := d.size()
	if err != nil {
		return nil, err
	}
	root, err := journal.RootOf(d.tree(size), size, size)
	if err != nil {
		return nil, err
	}
	line, err := journal.SignTreeHead(journal.TreeHead{Root: root, Size: size, Time: at}, signer)
	if err != nil {
		return nil, err
	}
	return line, d.exec(`INSERT INTO head (org, size, k, line) VALUES ($1, $2, 0, $3)`, d.org[:], size, line)
}

// Proof: see store.Ledger.
func (l *ledger) Proof(ctx context.Context, id journal.ID, size int64) (p store.Proof, err error) {
	err = l.read(ctx, func(d *desk) error {
		p, err = d.proof(id, size)
		return err
	})
	return p, err
}

func (d *desk) proof(id journal.ID, size int64) (store.Proof, error) {
	all, err := d.size()
	if err != nil {
		return store.Proof{}, err
	}
	if size == 0 {
		size = all
	}
	var r journal.Receipt
	p := store.Proof{Size: size}
	ok, err := d.scan(`SELECT line, hash, n, received FROM entry WHERE org = $1 AND id = $2 ORDER BY n LIMIT 1`,
		[]any{d.org[:], id[:]}, &p.Line, fixed(r.Entry[:]), &r.N, &r.Time)
	if err == nil && !ok {
		err = fmt.Errorf("entry %s: %w", id, store.ErrNotFound)
	}
	if err != nil {
		return store.Proof{}, err
	}
	p.Receipt, p.N = r.Line(), r.N
	t := d.tree(all)
	if p.Inclusion, err = journal.InclusionOf(t, r.N, size, all); err != nil {
		return store.Proof{}, err
	}
	p.Root, err = journal.RootOf(t, size, all)
	return p, err
}

// Consistency: see store.Ledger.
func (l *ledger) Consistency(ctx context.Context, m, n int64) (proof []journal.Hash, err error) {
	err = l.read(ctx, func(d *desk) error {
		size, err := d.size()
		if err != nil {
			return err
		}
		proof, err = journal.ConsistencyOf(d.tree(size), m, n, size)
		return err
	})
	return proof, err
}

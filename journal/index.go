package journal

import (
	"cmp"
	"crypto/ed25519"
	"errors"
	"maps"
	"slices"
)

// index knows every entry by hash and place, and not its text, so that a
// checker can hold a long log.
type index struct {
	nodes  map[Hash]node
	chains map[Hash]*chain // by device
	ids    map[ID][]Hash
}

// node is one entry: its place and the one before it.
type node struct {
	hash, prev, device Hash
	seq                int64
}

// chain is what one device wrote: without a fork a line, otherwise a tree.
type chain struct {
	key   ed25519.PublicKey
	at    [][]Hash      // at[seq-1]: the entries with this number
	tips  map[Hash]node // those that no other names as the one before
	trunk int64         // up to this number there is one entry each
}

// last is the entry after which the device writes on: the greatest number, and
// of equals the least hash.
func (c *chain) last() node {
	return slices.MaxFunc(slices.Collect(maps.Values(c.tips)), func(a, b node) int {
		return cmp.Or(cmp.Compare(a.seq, b.seq), b.hash.compare(a.hash))
	})
}

// add checks the entry against its chain and puts it in. It must be new.
func (x *index) add(e Entry) error {
	c := x.chains[e.Device]
	key := ed25519.PublicKey(e.Key)
	if c != nil {
		key = c.key
	}
	before, ok := x.nodes[e.Prev]
	if err := cmp.Or(e.Follows(before.known(), ok), e.SignedBy(key)); err != nil {
		return err
	}
	if c == nil {
		c = x.start(e.Device, key)
	}
	x.put(c, node{hash: e.Hash(), prev: e.Prev, device: e.Device, seq: e.Seq}, e.ID)
	return nil
}

func (x *index) start(device Hash, key ed25519.PublicKey) *chain {
	if x.nodes == nil {
		x.nodes, x.chains, x.ids = make(map[Hash]node), make(map[Hash]*chain), make(map[ID][]Hash)
	}
	c := &chain{key: slices.Clone(key), tips: make(map[Hash]node)}
	x.chains[device] = c
	return c
}

func (x *index) put(c *chain, n node, id ID) {
	x.nodes[n.hash] = n
	x.ids[id] = append(x.ids[id], n.hash)
	if n.seq > int64(len(c.at)) {
		c.at = append(c.at, nil)
	}
	c.at[n.seq-1] = append(c.at[n.seq-1], n.hash)
	if len(c.at[n.seq-1]) > 1 {
		c.trunk = min(c.trunk, n.seq-1)
	} else if c.trunk == n.seq-1 {
		c.trunk = n.seq
	}
	delete(c.tips, n.prev)
	c.tips[n.hash] = n
}

// Fork is one claim made by several entries: the same place in a device's
// chain (ID is zero), or the same id (Device and Seq are zero).
type Fork struct {
	Device  Hash
	Seq     int64
	ID      ID
	Entries []Hash
}

func (x *index) forks() []Fork {
	var found []Fork
	for device, c := range x.chains {
		for i, hashes := range c.at {
			if len(hashes) > 1 {
				found = append(found, Fork{Device: device, Seq: int64(i) + 1, Entries: hashes})
			}
		}
	}
	for id, hashes := range x.ids {
		if len(hashes) > 1 {
			found = append(found, Fork{ID: id, Entries: hashes})
		}
	}
	for i := range found {
		found[i].Entries = slices.SortedFunc(slices.Values(found[i].Entries), Hash.compare)
	}
	slices.SortFunc(found, func(a, b Fork) int {
		return cmp.Or(a.ID.compare(b.ID), a.Device.compare(b.Device), cmp.Compare(a.Seq, b.Seq))
	})
	return found
}

var errTwice = errors.New("this line stands above already")

package journal

import (
	"bytes"
	"cmp"
	"crypto/ed25519"
	"errors"
	"maps"
	"slices"
)

// index knows every entry by hash and place, and not its text, so that a
// checker can hold a long log: about 150 bytes an entry. Entries are named by
// their position in all; none has position -1.
type index struct {
	all    []node
	byHash map[Hash]int32
	lines  []*chain // by the device's position
	chains map[Hash]*chain
	ids    map[ID]int32   // the first entry of this id
	others map[ID][]int32 // those after it
}

// node is one entry: its place and the one before it. It holds no pointers, which
// would have to be followed by the garbage collector, a million times over.
type node struct {
	hash  Hash
	prev  int32 // position
	chain int32 // in lines
	seq   int64
}

// chain is what one device wrote: without a fork a line, otherwise a tree.
type chain struct {
	device Hash
	key    ed25519.PublicKey
	place  int32             // in lines
	at     []int32           // at[seq-1]: the first entry with this number
	forks  map[int64][]int32 // by number: those after the first
	tips   map[int32]bool    // those that no other names as the one before
	trunk  int64             // up to this number there is one entry each
}

// find is the position of an entry.
func (x *index) find(h Hash) (int32, bool) {
	i, ok := x.byHash[h]
	return i, ok
}

// known names an entry; none is the zero Known.
func (x *index) known(i int32) Known {
	if i < 0 {
		return Known{}
	}
	n := x.all[i]
	return Known{Device: x.lines[n.chain].device, Hash: n.hash, Seq: n.seq}
}

// last is the entry after which the device writes on: the greatest number, and
// of equals the least hash.
func (x *index) last(c *chain) int32 {
	return slices.MaxFunc(slices.Collect(maps.Keys(c.tips)), func(i, j int32) int {
		a, b := x.all[i], x.all[j]
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
	before, ok := x.find(e.Prev)
	if !ok {
		before = -1
	}
	if err := cmp.Or(e.Follows(x.known(before), ok), e.SignedBy(key)); err != nil {
		return err
	}
	if c == nil {
		c = x.start(e.Device, key)
	}
	x.put(c, e, before)
	return nil
}

func (x *index) start(device Hash, key ed25519.PublicKey) *chain {
	if x.chains == nil {
		x.byHash, x.chains = make(map[Hash]int32), make(map[Hash]*chain)
		x.ids, x.others = make(map[ID]int32), make(map[ID][]int32)
	}
	c := &chain{
		device: device, key: bytes.Clone(key), place: int32(len(x.lines)),
		forks: make(map[int64][]int32), tips: make(map[int32]bool),
	}
	x.chains[device], x.lines = c, append(x.lines, c)
	return c
}

func (x *index) put(c *chain, e Entry, before int32) {
	i := int32(len(x.all))
	x.all = append(x.all, node{hash: e.hash, prev: before, chain: c.place, seq: e.Seq})
	x.byHash[e.hash] = i
	if _, ok := x.ids[e.ID]; ok {
		x.others[e.ID] = append(x.others[e.ID], i)
	} else {
		x.ids[e.ID] = i
	}
	switch {
	case e.Seq <= int64(len(c.at)):
		c.forks[e.Seq] = append(c.forks[e.Seq], i)
		c.trunk = min(c.trunk, e.Seq-1)
	default:
		c.at = append(c.at, i)
		if c.trunk == e.Seq-1 {
			c.trunk = e.Seq
		}
	}
	delete(c.tips, before)
	c.tips[i] = true
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
	for _, c := range x.lines {
		for seq, others := range c.forks {
			found = append(found, Fork{Device: c.device, Seq: seq, Entries: x.hashes(c.at[seq-1], others)})
		}
	}
	for id, others := range x.others {
		found = append(found, Fork{ID: id, Entries: x.hashes(x.ids[id], others)})
	}
	slices.SortFunc(found, func(a, b Fork) int {
		return cmp.Or(a.ID.compare(b.ID), a.Device.compare(b.Device), cmp.Compare(a.Seq, b.Seq))
	})
	return found
}

// hashes lists the hashes of some entries, in their order.
func (x *index) hashes(first int32, others []int32) []Hash {
	all := []Hash{x.all[first].hash}
	for _, i := range others {
		all = append(all, x.all[i].hash)
	}
	slices.SortFunc(all, Hash.compare)
	return all
}

var errTwice = errors.New("this line stands above already")

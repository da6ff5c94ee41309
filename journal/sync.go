package journal

import (
	"cmp"
	"slices"
)

// Known is one entry that a side has, and with it all below it in its chain.
type Known struct {
	Device Hash  `json:"device"`
	Hash   Hash  `json:"hash"`
	Seq    int64 `json:"seq"`
}

// Offer says what this journal has: for every chain its tips, and below each
// tip entries at distance 1, 2, 4, 8 … and the first, so that the other side
// finds where two chains part.
func (j *Journal) Offer() []Known {
	var all []Known
	for _, c := range j.index.chains {
		for _, tip := range c.tips {
			all = append(all, tip.known())
			n := tip
			for step := int64(1); n.seq > 1; step *= 2 {
				n = j.index.below(c, n, max(tip.seq-step, 1))
				all = append(all, n.known())
			}
		}
	}
	sortKnown(all)
	return slices.Compact(all)
}

func (n node) known() Known { return Known{Device: n.device, Hash: n.hash, Seq: n.seq} }

// below is the entry with this number on the way down from n.
func (x *index) below(c *chain, n node, seq int64) node {
	for n.seq > seq {
		if same := c.at[seq-1]; len(same) == 1 {
			return x.nodes[same[0]] // the only one there, so it lies on the way
		}
		n = x.nodes[n.prev]
	}
	return n
}

// Missing lists what the side that made the offer lacks, in the order of
// Entries. What the offer names and this journal does not know is passed over.
func (j *Journal) Missing(offer []Known) []Entry {
	had := j.index.had(offer)
	var lacks []Entry
	for device, c := range j.index.chains {
		h := had[device]
		taken := make(map[Hash]bool)
		for _, tip := range c.tips {
			for n := tip; n.seq > h.floor && !h.above[n.hash] && !taken[n.hash]; n = j.index.nodes[n.prev] {
				taken[n.hash] = true
				lacks = append(lacks, j.lines[n.hash])
			}
		}
	}
	sortEntries(lacks)
	return lacks
}

// held is what a side has of one chain: all up to the number floor, and these
// above it.
type held struct {
	floor int64
	above map[Hash]bool
}

// had works out what follows from an offer. From each known entry it goes down
// to where the chain has no fork yet: all below is shared.
func (x *index) had(offer []Known) map[Hash]held {
	all := make(map[Hash]held)
	for _, k := range offer {
		n, ok := x.nodes[k.Hash]
		if !ok {
			continue
		}
		device := n.device
		c, h := x.chains[device], all[device]
		if h.above == nil {
			h.above = make(map[Hash]bool)
		}
		h.floor = max(h.floor, min(n.seq, c.trunk))
		for ; n.seq > c.trunk && !h.above[n.hash]; n = x.nodes[n.prev] {
			h.above[n.hash] = true
		}
		all[device] = h
	}
	return all
}

func sortKnown(all []Known) {
	slices.SortFunc(all, func(a, b Known) int {
		return cmp.Or(a.Device.compare(b.Device), cmp.Compare(a.Seq, b.Seq), a.Hash.compare(b.Hash))
	})
}

func sortEntries(all []Entry) {
	slices.SortFunc(all, func(a, b Entry) int {
		return cmp.Or(a.Device.compare(b.Device), cmp.Compare(a.Seq, b.Seq), a.hash.compare(b.hash))
	})
}

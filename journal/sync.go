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
	x := &j.index
	var all []Known
	for _, c := range x.lines {
		for tip := range c.tips {
			at := tip
			all = append(all, x.known(at))
			for step := int64(1); x.all[at].seq > 1; step *= 2 {
				at = x.below(c, at, max(x.all[tip].seq-step, 1))
				all = append(all, x.known(at))
			}
		}
	}
	sortKnown(all)
	return slices.Compact(all)
}

// below is the entry with this number on the way down from one.
func (x *index) below(c *chain, i int32, seq int64) int32 {
	for x.all[i].seq > seq {
		if len(c.forks[seq]) == 0 {
			return c.at[seq-1] // the only one there, so it lies on the way
		}
		i = x.all[i].prev
	}
	return i
}

// Missing lists what the side that made the offer lacks, in the order of
// Entries. What the offer names and this journal does not know is passed over.
func (j *Journal) Missing(offer []Known) []Entry {
	x := &j.index
	had := x.had(offer)
	var lacks []Entry
	for _, c := range x.lines {
		h := had[c.place]
		taken := make(map[int32]bool)
		for tip := range c.tips {
			for i := tip; i >= 0 && x.all[i].seq > h.floor && !h.above[i] && !taken[i]; i = x.all[i].prev {
				taken[i] = true
				lacks = append(lacks, j.lines[x.all[i].hash])
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
	above map[int32]bool
}

// had works out what follows from an offer, by the place of each chain. From each
// known entry it goes down to where the chain has no fork yet: all below is shared.
func (x *index) had(offer []Known) map[int32]held {
	all := make(map[int32]held)
	for _, k := range offer {
		i, ok := x.find(k.Hash)
		if !ok {
			continue
		}
		c := x.lines[x.all[i].chain]
		h := all[c.place]
		if h.above == nil {
			h.above = make(map[int32]bool)
		}
		h.floor = max(h.floor, min(x.all[i].seq, c.trunk))
		for ; i >= 0 && x.all[i].seq > c.trunk && !h.above[i]; i = x.all[i].prev {
			h.above[i] = true
		}
		all[c.place] = h
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

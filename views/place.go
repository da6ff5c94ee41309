package views

import (
	"bytes"
	"cmp"

	"sapwell/entries"
	"sapwell/journal"
)

// Place is where an entry stands in the order of folding. Time is the writer's
// clock, held from running backwards along each device's chain: the greatest
// time of the entry and of all before it in its chain.
type Place struct {
	Time   int64        `json:"time"`
	Device journal.Hash `json:"device"`
	Seq    int64        `json:"seq"`
	Hash   journal.Hash `json:"hash"`
}

// Compare orders by time, then device, then number, then hash.
func (p Place) Compare(q Place) int {
	if p.Time != q.Time {
		return cmp.Compare(p.Time, q.Time)
	}
	return cmp.Or(bytes.Compare(p.Device[:], q.Device[:]), cmp.Compare(p.Seq, q.Seq), bytes.Compare(p.Hash[:], q.Hash[:]))
}

// Item is an entry in its place.
type Item struct {
	entries.Entry
	Place Place
}

// compareIDs orders by the bytes, which is by the time of making.
func compareIDs(a, b journal.ID) int { return bytes.Compare(a[:], b[:]) }

// made is the moment an id was made, in ms since 1970 (RFC 9562, section 5.7).
func made(id journal.ID) (ms int64) {
	for _, b := range id[:6] {
		ms = ms<<8 | int64(b)
	}
	return ms
}

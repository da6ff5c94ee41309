package journal

import "math/bits"

// span is a run of leaves, from the first to before the last. Every span here
// begins at a multiple of the least power of two that holds it.
type span struct{ from, to int64 }

// split is the largest power of two below n, for n > 1: where RFC 6962, section
// 2.1 parts n leaves.
func split(n int64) int64 { return 1 << (bits.Len64(uint64(n-1)) - 1) }

// inclusionPath lists the spans whose hashes prove leaf i among n, nearest
// first (RFC 6962, section 2.1.1).
func inclusionPath(i, n int64) []span { return pathWithin(i, span{0, n}) }

func pathWithin(i int64, s span) []span {
	if s.to-s.from == 1 {
		return nil
	}
	middle := s.from + split(s.to-s.from)
	if i < middle {
		return append(pathWithin(i, span{s.from, middle}), span{middle, s.to})
	}
	return append(pathWithin(i, span{middle, s.to}), span{s.from, middle})
}

// consistencyPath lists the spans whose hashes prove that the first m of n
// leaves are what they were (RFC 6962, section 2.1.2).
func consistencyPath(m, n int64) []span { return consistentWithin(m, span{0, n}, true) }

// consistentWithin is SUBPROOF; m counts from the first leaf of all. old tells
// that the span's hash is known as the old root.
func consistentWithin(m int64, s span, old bool) []span {
	if m == s.to {
		if old {
			return nil
		}
		return []span{s}
	}
	middle := s.from + split(s.to-s.from)
	if m <= middle {
		return append(consistentWithin(m, span{s.from, middle}, old), span{middle, s.to})
	}
	return append(consistentWithin(m, span{middle, s.to}, false), span{s.from, middle})
}

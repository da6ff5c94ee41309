package journal

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math/bits"
)

// Tree is the Merkle tree of RFC 6962, section 2.1 over leaf hashes in the order
// they were appended. The zero Tree is empty and ready. It keeps every full
// subtree, two hashes a leaf, so that roots and proofs of any earlier size cost
// a few hashes.
type Tree struct {
	levels [][]Hash // levels[k][i]: the hash of the leaves from i·2^k on, 2^k of them
}

// Size is the number of leaves.
func (t *Tree) Size() int64 {
	if len(t.levels) == 0 {
		return 0
	}
	return int64(len(t.levels[0]))
}

// Append adds one leaf hash.
func (t *Tree) Append(leaf Hash) {
	for k := 0; ; k++ {
		if k == len(t.levels) {
			t.levels = append(t.levels, nil)
		}
		t.levels[k] = append(t.levels[k], leaf)
		n := len(t.levels[k])
		if n%2 == 1 {
			return
		}
		leaf = hashPair(t.levels[k][n-2], t.levels[k][n-1])
	}
}

// Root is the hash of the first n leaves.
func (t *Tree) Root(n int64) (Hash, error) { return RootOf(t, n, t.Size()) }

// Inclusion proves leaf i, counted from 0, among the first n.
func (t *Tree) Inclusion(i, n int64) ([]Hash, error) { return InclusionOf(t, i, n, t.Size()) }

// Consistency proves that the first m of n leaves are the tree of size m.
func (t *Tree) Consistency(m, n int64) ([]Hash, error) { return ConsistencyOf(t, m, n, t.Size()) }

// Node is the hash of the 2^level leaves from i·2^level on.
func (t *Tree) Node(level int, i int64) (Hash, error) {
	if level < 0 || level >= len(t.levels) || i < 0 || i >= int64(len(t.levels[level])) {
		return Hash{}, fmt.Errorf("node %d of level %d: not in a tree of %d leaves", i, level, t.Size())
	}
	return t.levels[level][i], nil
}

// Nodes gives the hashes of full subtrees, from wherever they are kept.
type Nodes interface {
	// Node is the hash of the 2^level leaves from i·2^level on.
	Node(level int, i int64) (Hash, error)
}

// RootOf is the hash of the first n leaves of a tree of the given size.
func RootOf(t Nodes, n, size int64) (Hash, error) {
	if n < 0 || n > size {
		return Hash{}, fmt.Errorf("root of %d leaves: want 0 to %d", n, size)
	}
	if n == 0 {
		return sha256.Sum256(nil), nil
	}
	return hashSpan(t, span{0, n})
}

// InclusionOf proves leaf i, counted from 0, among the first n of a tree of the
// given size.
func InclusionOf(t Nodes, i, n, size int64) ([]Hash, error) {
	if i < 0 || i >= n || n > size {
		return nil, fmt.Errorf("inclusion of leaf %d among %d: want a leaf below the size, and a size up to %d", i, n, size)
	}
	return hashSpans(t, inclusionPath(i, n))
}

// ConsistencyOf proves that the first m of n leaves of a tree of the given size
// are the tree of size m.
func ConsistencyOf(t Nodes, m, n, size int64) ([]Hash, error) {
	if m < 1 || m > n || n > size {
		return nil, fmt.Errorf("consistency of %d and %d leaves: want 1 to the second, and that up to %d", m, n, size)
	}
	return hashSpans(t, consistencyPath(m, n))
}

func hashSpan(t Nodes, s span) (Hash, error) {
	n := s.to - s.from
	if n&(n-1) == 0 {
		k := bits.TrailingZeros64(uint64(n))
		return t.Node(k, s.from>>k)
	}
	middle := s.from + split(n)
	left, err := hashSpan(t, span{s.from, middle})
	if err != nil {
		return Hash{}, err
	}
	right, err := hashSpan(t, span{middle, s.to})
	return hashPair(left, right), err
}

func hashSpans(t Nodes, path []span) ([]Hash, error) {
	all := make([]Hash, len(path))
	for i, s := range path {
		h, err := hashSpan(t, s)
		if err != nil {
			return nil, err
		}
		all[i] = h
	}
	return all, nil
}

// VerifyInclusion checks a proof that leaf i, counted from 0, is among the n
// leaves under root.
func VerifyInclusion(root Hash, n, i int64, leaf Hash, proof []Hash) error {
	if i < 0 || i >= n {
		return fmt.Errorf("leaf %d of %d: want a leaf below the size", i, n)
	}
	if want := len(inclusionPath(i, n)); len(proof) != want {
		return fmt.Errorf("proof of %d hashes, want %d", len(proof), want)
	}
	if climb(i, n, leaf, proof) != root {
		return errors.New("the proof does not lead from the leaf to the root")
	}
	return nil
}

// climb is the root of n leaves by the proof, whose last hash is the half of
// the tree that the leaf is not in.
func climb(i, n int64, leaf Hash, proof []Hash) Hash {
	if n == 1 {
		return leaf
	}
	k, last := split(n), len(proof)-1
	if i < k {
		return hashPair(climb(i, k, leaf, proof[:last]), proof[last])
	}
	return hashPair(proof[last], climb(i-k, n-k, leaf, proof[:last]))
}

// VerifyConsistency checks a proof that the n leaves under newRoot begin with
// the m leaves under oldRoot. m is at least 1: nothing needs no proof.
func VerifyConsistency(oldRoot Hash, m int64, newRoot Hash, n int64, proof []Hash) error {
	if m < 1 || m > n {
		return fmt.Errorf("sizes %d and %d: want 1 or more, and the second not less", m, n)
	}
	if want := len(consistencyPath(m, n)); len(proof) != want {
		return fmt.Errorf("proof of %d hashes, want %d", len(proof), want)
	}
	o, w := climbBoth(m, n, &oldRoot, proof)
	if o != oldRoot {
		return errors.New("the proof does not lead to the old root")
	}
	if w != newRoot {
		return errors.New("the proof does not lead from the old root to the new one")
	}
	return nil
}

// climbBoth is the root of the first m and of all n leaves by the proof. start
// is the old root while the span still holds the first leaf, then nil.
func climbBoth(m, n int64, start *Hash, proof []Hash) (o, w Hash) {
	if m == n {
		if start == nil {
			start = &proof[0]
		}
		return *start, *start
	}
	k, last := split(n), len(proof)-1
	if m <= k {
		o, w = climbBoth(m, k, start, proof[:last])
		return o, hashPair(w, proof[last])
	}
	o, w = climbBoth(m-k, n-k, nil, proof[:last])
	return hashPair(proof[last], o), hashPair(proof[last], w)
}

// peaks is a tree that knows only its root: of the leaves it keeps no more than the
// hashes of the full subtrees that are in no larger one.
type peaks struct {
	size int64
	full []Hash // full[k] is of 2^k leaves, where size has a 1 at that place
}

func (p *peaks) append(leaf Hash) {
	k := 0
	for ; p.size>>k&1 == 1; k++ {
		leaf = hashPair(p.full[k], leaf)
	}
	if k == len(p.full) {
		p.full = append(p.full, leaf)
	}
	p.full[k] = leaf
	p.size++
}

func (p *peaks) root() Hash {
	if p.size == 0 {
		return sha256.Sum256(nil)
	}
	k := bits.TrailingZeros64(uint64(p.size))
	root := p.full[k]
	for k++; k < len(p.full); k++ {
		if p.size>>k&1 == 1 {
			root = hashPair(p.full[k], root)
		}
	}
	return root
}

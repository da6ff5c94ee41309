package journal

import (
	"encoding/hex"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// The reference tree used by implementations of RFC 6962 (Certificate
// Transparency): eight leaves and the roots of sizes 0 to 8.
var (
	referenceLeaves = []string{"", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f"}
	referenceRoots  = []string{
		"e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
		"6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
		"fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
		"aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
		"4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
		"76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
		"ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
		"5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
	}
)

func unhex(t testing.TB, s string) []byte {
	t.Helper()
	b, err := hex.DecodeString(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func hashes(t testing.TB, texts ...string) []Hash {
	t.Helper()
	all := make([]Hash, len(texts))
	for i, s := range texts {
		if err := all[i].UnmarshalText([]byte(s)); err != nil {
			t.Fatal(err)
		}
	}
	return all
}

func referenceTree(t testing.TB) *Tree {
	var tree Tree
	for _, l := range referenceLeaves {
		tree.Append(HashLine(unhex(t, l)))
	}
	return &tree
}

func TestReferenceRoots(t *testing.T) {
	tree := referenceTree(t)
	for n, want := range hashes(t, referenceRoots...) {
		if got, err := tree.Root(int64(n)); err != nil || got != want {
			t.Errorf("root of %d: %s, %v, want %s", n, got, err, want)
		}
	}
	outside.Ran(t, "RFC 6962 reference tree", "roots of sizes 0 to 8")
}

func TestReferenceProofs(t *testing.T) {
	tree, roots := referenceTree(t), hashes(t, referenceRoots...)
	want := hashes(t, "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
		"ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
		"d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7")
	if got, err := tree.Inclusion(5, 8); err != nil || !slices.Equal(got, want) {
		t.Errorf("inclusion of 5 in 8: %v, %v", got, err)
	}
	if err := VerifyInclusion(roots[8], 8, 5, HashLine(unhex(t, referenceLeaves[5])), want); err != nil {
		t.Error(err)
	}
	want[0] = hashes(t, "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a")[0]
	if got, err := tree.Consistency(6, 8); err != nil || !slices.Equal(got, want) {
		t.Errorf("consistency of 6 and 8: %v, %v", got, err)
	}
	if err := VerifyConsistency(roots[6], 6, roots[8], 8, want); err != nil {
		t.Error(err)
	}
	outside.Ran(t, "RFC 6962 reference tree", "inclusion of leaf 5 in 8, consistency of 6 and 8")
}

// RFC 6962, section 2.1.3 works out these paths for seven leaves. Its names:
// a to f, then j are the leaves; g = ab, h = cd, i = ef, k = gh, l = ij.
func TestPathsOfTheRFC(t *testing.T) {
	names := map[span]string{
		{0, 1}: "a", {1, 2}: "b", {2, 3}: "c", {3, 4}: "d", {4, 5}: "e", {5, 6}: "f", {6, 7}: "j",
		{0, 2}: "g", {2, 4}: "h", {4, 6}: "i", {0, 4}: "k", {4, 7}: "l",
	}
	named := func(path []span) string {
		var b strings.Builder
		for _, s := range path {
			b.WriteString(names[s])
		}
		return b.String()
	}
	for leaf, want := range map[int64]string{0: "bhl", 3: "cgl", 4: "fjk", 6: "ik"} {
		if got := named(inclusionPath(leaf, 7)); got != want {
			t.Errorf("path of %d: %s, want %s", leaf, got, want)
		}
	}
	for m, want := range map[int64]string{3: "cdgl", 4: "l", 6: "ijk", 7: ""} {
		if got := named(consistencyPath(m, 7)); got != want {
			t.Errorf("proof from %d: %s, want %s", m, got, want)
		}
	}
	outside.Ran(t, "RFC 6962, section 2.1.3", "four audit paths and three consistency proofs of seven leaves")
}

func TestSplit(t *testing.T) {
	for n, want := range map[int64]int64{2: 1, 3: 2, 4: 2, 5: 4, 8: 4, 9: 8, 1 << 40: 1 << 39, 1<<40 + 1: 1 << 40, 1<<62 + 1: 1 << 62} {
		if got := split(n); got != want {
			t.Errorf("split(%d) = %d, want %d", n, got, want)
		}
	}
}

// A proof is as long as the tree is high, at most.
func TestLengthOfPaths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 1<<53).Draw(t, "n")
		i := rapid.Int64Range(0, n-1).Draw(t, "i")
		height := 0
		for w := int64(1); w < n; w *= 2 {
			height++
		}
		if got := len(inclusionPath(i, n)); got > height {
			t.Fatalf("inclusion of %d in %d: %d hashes, height %d", i, n, got, height)
		}
		if got := len(consistencyPath(i+1, n)); got > height+1 {
			t.Fatalf("consistency of %d and %d: %d hashes, height %d", i+1, n, got, height)
		}
	})
}

// someTree has n leaves of which no two are the same.
func someTree(n int64) *Tree {
	var tree Tree
	for i := range n {
		tree.Append(HashLine([]byte{byte(i), byte(i >> 8)}))
	}
	return &tree
}

// altered changes one thing about a proof.
func altered(t *rapid.T, proof []Hash) []Hash {
	proof = slices.Clone(proof)
	switch how := rapid.IntRange(0, 2).Draw(t, "how"); {
	case how == 0 && len(proof) > 0:
		i := rapid.IntRange(0, len(proof)-1).Draw(t, "which")
		proof[i][rapid.IntRange(0, 31).Draw(t, "byte")] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
	case how == 1 && len(proof) > 0:
		proof = proof[1:]
	default:
		proof = append(proof, Hash{})
	}
	return proof
}

func TestInclusionProofs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 300).Draw(t, "n")
		i := rapid.Int64Range(0, n-1).Draw(t, "i")
		tree := someTree(n + rapid.Int64Range(0, 5).Draw(t, "later"))
		root, _ := tree.Root(n)
		leaf := tree.levels[0][i]
		proof, err := tree.Inclusion(i, n)
		if err != nil {
			t.Fatal(err)
		}
		if err := VerifyInclusion(root, n, i, leaf, proof); err != nil {
			t.Fatal(err)
		}
		if VerifyInclusion(root, n, i, leaf, altered(t, proof)) == nil {
			t.Fatal("an altered proof passed")
		}
		if other := rapid.Int64Range(0, n-1).Draw(t, "other"); other != i && VerifyInclusion(root, n, other, leaf, proof) == nil {
			t.Fatal("a proof passed for another place")
		}
		if VerifyInclusion(root, n, i, HashLine([]byte("other")), proof) == nil {
			t.Fatal("a proof passed for another leaf")
		}
	})
}

func TestConsistencyProofs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64Range(1, 300).Draw(t, "n")
		m := rapid.Int64Range(1, n).Draw(t, "m")
		tree := someTree(n)
		oldRoot, _ := tree.Root(m)
		newRoot, _ := tree.Root(n)
		proof, err := tree.Consistency(m, n)
		if err != nil {
			t.Fatal(err)
		}
		if err := VerifyConsistency(oldRoot, m, newRoot, n, proof); err != nil {
			t.Fatal(err)
		}
		if VerifyConsistency(oldRoot, m, newRoot, n, altered(t, proof)) == nil {
			t.Fatal("an altered proof passed")
		}
		if VerifyConsistency(HashLine(nil), m, newRoot, n, proof) == nil || VerifyConsistency(oldRoot, m, HashLine([]byte("x")), n, proof) == nil {
			t.Fatal("a proof passed for another root")
		}
	})
}

func TestTreeRefuses(t *testing.T) {
	tree := someTree(4)
	for name, err := range map[string]error{
		"root of 5":            second(tree.Root(5)),
		"root of -1":           second(tree.Root(-1)),
		"leaf 4 of 4":          second(tree.Inclusion(4, 4)),
		"leaf -1":              second(tree.Inclusion(-1, 4)),
		"leaf 0 of 5":          second(tree.Inclusion(0, 5)),
		"from nothing":         second(tree.Consistency(0, 4)),
		"backwards":            second(tree.Consistency(3, 2)),
		"beyond":               second(tree.Consistency(3, 5)),
		"verify leaf 4 of 4":   VerifyInclusion(Hash{}, 4, 4, Hash{}, nil),
		"verify from nothing":  VerifyConsistency(Hash{}, 0, Hash{}, 4, nil),
		"verify backwards":     VerifyConsistency(Hash{}, 3, Hash{}, 2, nil),
		"verify another's own": VerifyConsistency(Hash{1}, 3, Hash{2}, 3, nil),
	} {
		if err == nil {
			t.Errorf("%s passed", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }

func BenchmarkProofs(b *testing.B) {
	const n = 100_000
	tree := someTree(n)
	root, _ := tree.Root(n)
	for i := int64(0); b.Loop(); i = (i + 7919) % n {
		proof, err := tree.Inclusion(i, n)
		if err == nil {
			err = VerifyInclusion(root, n, i, tree.levels[0][i], proof)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}

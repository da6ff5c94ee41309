package journal

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"errors"
	"testing"
)

// One entry at a time gives the bytes that a Journal writes.
func TestNextIsAppend(t *testing.T) {
	var j Journal
	var last Known
	for i := range 3 {
		want, err := j.Append(testKey(0), draft(i, `{"b":1,"a":2}`))
		if err != nil {
			t.Fatal(err)
		}
		got, err := Next(testKey(0), last, draft(i, `{"b":1,"a":2}`))
		if err != nil || string(got.Line) != string(want.Line) {
			t.Fatalf("number %d: %v\n got %s\nwant %s", i+1, err, got.Line, want.Line)
		}
		if device, err := DeviceOf(testKey(0)); err != nil || device != got.Device {
			t.Errorf("device %s, %v; want %s", device, err, got.Device)
		}
		last = Known{Device: got.Device, Hash: got.Hash(), Seq: got.Seq}
	}
}

func TestNextNeedsAKey(t *testing.T) {
	p256, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := DeviceOf(p256); err == nil {
		t.Error("a device with a key of another sort")
	}
	if _, err := Next(p256, Known{}, draft(1, `{}`)); err == nil {
		t.Error("an entry by a key of another sort")
	}
	// What a faulty signer made has the form of an entry; its signature tells.
	e, err := Next(faulty{testKey(0), make([]byte, 64), nil}, Known{}, draft(1, `{}`))
	if err != nil || !errors.Is(e.SignedBy(e.Key), errSig) {
		t.Errorf("%v, and then %v", err, e.SignedBy(e.Key))
	}
}

func TestFollowsAndSignedBy(t *testing.T) {
	var j Journal
	first, _ := j.Append(testKey(0), draft(1, `{}`))
	second, _ := j.Append(testKey(0), draft(2, `{}`))
	other, _ := j.Append(testKey(1), draft(3, `{}`))
	known := func(e Entry) Known { return Known{Device: e.Device, Hash: e.Hash(), Seq: e.Seq} }
	for name, c := range map[string]struct {
		e      Entry
		before Known
		there  bool
		sound  bool
	}{
		"the first":            {first, Known{}, false, true},
		"the one before":       {second, known(first), true, true},
		"nothing":              {second, Known{}, false, false},
		"another's":            {second, known(other), true, false},
		"one with its number":  {second, known(second), true, false},
		"the first needs none": {other, known(first), true, true},
		"only what is there":   {second, known(first), false, false},
	} {
		if err := c.e.Follows(c.before, c.there); (err == nil) != c.sound {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := second.SignedBy(first.Key); err != nil {
		t.Error(err)
	}
	for name, key := range map[string][]byte{"another's key": other.Key, "no key": nil, "half a key": first.Key[:16]} {
		if err := second.SignedBy(key); !errors.Is(err, errSig) {
			t.Errorf("%s: %v, want %v", name, err, errSig)
		}
	}
}

// pruned forgets a node, as a store might have lost it.
type pruned struct {
	*Tree
	level int
	i     int64
}

var errLost = errors.New("lost")

func (p pruned) Node(level int, i int64) (Hash, error) {
	if level == p.level && i == p.i {
		return Hash{}, errLost
	}
	return p.Tree.Node(level, i)
}

// A proof from elsewhere is that of the tree or the error of where it is kept.
func TestProofsFromNodes(t *testing.T) {
	var tree Tree
	for i := range 11 {
		tree.Append(HashLine([]byte{byte(i)}))
	}
	lost := pruned{&tree, 2, 1} // leaves 4 to 7
	if _, err := RootOf(lost, 8, 11); err != nil {
		t.Errorf("the root of 8 needs it not: %v", err)
	}
	if _, err := RootOf(lost, 7, 11); err != nil {
		t.Errorf("the root of 7 needs it not: %v", err)
	}
	if _, err := InclusionOf(lost, 1, 11, 11); !errors.Is(err, errLost) {
		t.Errorf("inclusion: %v, want %v", err, errLost)
	}
	if _, err := ConsistencyOf(lost, 4, 11, 11); !errors.Is(err, errLost) {
		t.Errorf("consistency: %v, want %v", err, errLost)
	}
	if _, err := RootOf(pruned{&tree, 3, 0}, 11, 11); !errors.Is(err, errLost) {
		t.Errorf("root: %v, want %v", err, errLost)
	}
	for _, at := range []struct {
		level int
		i     int64
	}{{-1, 0}, {0, 11}, {0, -1}, {3, 1}, {4, 0}} {
		if _, err := tree.Node(at.level, at.i); err == nil {
			t.Errorf("node %d of level %d is there", at.i, at.level)
		}
	}
}

// A tree that knows only its root has the root of one that knows all.
func TestPeaksHaveTheRoot(t *testing.T) {
	var tree Tree
	var top peaks
	for i := range 300 {
		if want, err := tree.Root(int64(i)); err != nil || top.root() != want || top.size != tree.Size() {
			t.Fatalf("of %d: %s, want %s, %v", i, top.root(), want, err)
		}
		leaf := HashLine([]byte{byte(i), byte(i >> 8)})
		tree.Append(leaf)
		top.append(leaf)
	}
}

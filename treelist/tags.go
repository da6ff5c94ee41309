package treelist

import (
	"encoding/binary"
	"hash/maphash"
)

// tags remembers which tags were seen, and where, in about 25 bytes a tag: the
// texts stand one after the other in one slice, and an open-addressed table of
// places finds them. Comparison is by the text itself, so two tags are never
// taken for one.
type tags struct {
	seed  maphash.Seed
	texts []byte   // length (uvarint), text, line (uvarint), again and again
	table []uint32 // 1 + place in texts; 0: free; a power of two long
	n     int
}

func newTags() *tags { return &tags{seed: maphash.MakeSeed(), table: make([]uint32, 1<<10)} }

// add notes a tag; when it is there already it returns the line it was on.
func (t *tags) add(tag string, line int) (first int, again bool) {
	if 2*t.n >= len(t.table) {
		t.grow()
	}
	i := t.slot(tag)
	if t.table[i] != 0 {
		_, first = t.at(t.table[i] - 1)
		return first, true
	}
	t.table[i] = uint32(len(t.texts)) + 1
	t.texts = binary.AppendUvarint(t.texts, uint64(len(tag)))
	t.texts = append(t.texts, tag...)
	t.texts = binary.AppendUvarint(t.texts, uint64(line))
	t.n++
	return 0, false
}

// slot finds the place of a tag in the table, or the free one where it belongs.
func (t *tags) slot(tag string) int {
	mask := len(t.table) - 1
	for i := int(maphash.String(t.seed, tag)) & mask; ; i = (i + 1) & mask {
		if t.table[i] == 0 {
			return i
		}
		if text, _ := t.at(t.table[i] - 1); string(text) == tag {
			return i
		}
	}
}

// at returns the tag that stands at a place in texts, and its line.
func (t *tags) at(place uint32) (text []byte, line int) {
	b := t.texts[place:]
	n, size := binary.Uvarint(b)
	b = b[size:]
	at, _ := binary.Uvarint(b[n:])
	return b[:n], int(at)
}

func (t *tags) grow() {
	old := t.table
	t.table = make([]uint32, 2*len(old))
	for _, place := range old {
		if place != 0 {
			text, _ := t.at(place - 1)
			t.table[t.slot(string(text))] = place
		}
	}
}

package museum

import (
	"fmt"
	"strings"
)

// exhibits are all there are, by the section of doc/journal-format.md that they
// break. Where a line shows follows from what was done to it.
var exhibits = []exhibit{
	// 1: lines
	{"cut-within-a-line", "the last line ends in its middle", "line feed", func(m *model) int {
		last := len(m.lines) - 1
		m.lines[last] = m.lines[last][:100]
		return last + 1
	}},
	{"no-last-line-feed", "the last byte is missing", "line feed", func(m *model) int {
		last := len(m.lines) - 1
		m.lines[last] = strings.TrimSuffix(m.lines[last], "\n")
		return last + 1
	}},
	{"empty-line", "a line without anything", "at the beginning", func(m *model) int { m.insert(3, "\n"); return 4 }},
	{"carriage-return", "0D before the 0A of a line", "canonical", func(m *model) int { return m.change(m.at("desk"), "\n", "\r\n") }},
	{"byte-order-mark", "a byte order mark before everything", "at the beginning", func(m *model) int { return m.change(0, "{", "\ufeff{") }},
	{"strange-line", "a line of no known sort", "at the beginning", func(m *model) int { m.insert(2, `{"remark":"fine"}`+"\n"); return 3 }},
	{"entry-twice", "an entry stands there twice", "above already", func(m *model) int { m.insert(m.at("oak")+1, m.lines[m.at("oak")]); return m.at("oak") + 2 }},
	{"swapped-entries", "two entries of a chain changed places", "prev", func(m *model) int {
		i, k := m.at("boss"), m.at("desk")
		m.lines[i], m.lines[k] = m.lines[k], m.lines[i]
		return i + 1
	}},
	{"swapped-receipts", "two receipts changed places", "receipt 4, want 3", func(m *model) int {
		i, k := m.receipt(3), m.receipt(4)
		m.lines[i], m.lines[k] = m.lines[k], m.lines[i]
		return i + 1
	}},
	{"receipt-before-entry", "a receipt above its entry", "no entry", func(m *model) int {
		i := m.receipt(0)
		line := m.lines[i]
		m.remove(i)
		m.insert(0, line)
		return 1
	}},
	{"head-too-early", "a head above the last receipt it counts", "size", func(m *model) int {
		i := m.head(0)
		m.lines[i], m.lines[i-1] = m.lines[i-1], m.lines[i]
		return i
	}},
	{"head-too-late", "a head below a receipt it does not count", "size", func(m *model) int {
		i := m.head(0)
		m.lines[i], m.lines[i+1] = m.lines[i+1], m.lines[i]
		return i + 2
	}},

	// 2: canonical form
	{"space", "a space after a colon", "canonical", func(m *model) int { return m.change(m.at("oak"), `"seq":`, `"seq": `) }},
	{"unsorted", "two members in the wrong order", "canonical", func(m *model) int {
		return m.change(m.at("oak"), fmt.Sprintf(`"seq":5,"time":%d`, m.Entry("oak").Time), fmt.Sprintf(`"time":%d,"seq":5`, m.Entry("oak").Time))
	}},
	{"key-twice", "the same member twice", "byte", func(m *model) int { return m.change(m.at("oak"), `"seq":5,`, `"seq":5,"seq":5,`) }},
	{"needless-escape", "a letter written as an escape", "canonical", func(m *model) int { return m.change(m.at("oak"), "Quercus", `\u0051uercus`) }},
	{"lone-surrogate", "half of a pair", "byte", func(m *model) int { return m.change(m.at("oak"), "Quercus", `\ud800uercus`) }},
	{"overlong", "a slash in two bytes of UTF-8", "byte", func(m *model) int { return m.change(m.at("oak"), "Quercus", "\xc0\xafuercus") }},
	{"fraction", "a whole number with a point", "byte", func(m *model) int { return m.change(m.at("h1"), `"at_nm":100000000`, `"at_nm":100000000.0`) }},
	{"exponent", "a whole number with an exponent", "byte", func(m *model) int { return m.change(m.at("h1"), `"at_nm":100000000`, `"at_nm":1e8`) }},
	{"minus-zero", "a zero below zero", "canonical", func(m *model) int { return m.change(m.at("h1"), `"at_nm":100000000`, `"at_nm":-0`) }},
	{"large-number", "2^53, which not every reader can tell from its neighbour", "byte", func(m *model) int {
		return m.change(m.at("h1"), `"at_nm":100000000`, `"at_nm":9007199254740992`)
	}},
	{"deep", "65 objects in one another", "byte", func(m *model) int {
		return m.change(m.at("h1"), `"at_nm":100000000`, `"at_nm":`+strings.Repeat(`{"a":`, 63)+"1"+strings.Repeat("}", 63))
	}},

	// 3: entries
	{"extra-member", "a member that no entry has", "want", func(m *model) int { return m.change(m.at("oak"), `,"v":1},"sig"`, `,"v":1,"w":1},"sig"`) }},
	{"missing-member", "an entry without its time", "want", func(m *model) int {
		return m.change(m.at("oak"), fmt.Sprintf(`"time":%d,`, m.Entry("oak").Time), "")
	}},
	{"version-2", "an entry of a version that is not known", "want", func(m *model) int { return m.change(m.at("oak"), `,"v":1},"sig"`, `,"v":2},"sig"`) }},
	{"upper-case", "hex digits in upper case", "lower", func(m *model) int {
		d := m.Device("phone").String()
		return m.change(m.at("h1"), `"device":"`+d, `"device":"`+strings.ToUpper(d))
	}},
	{"uuid-version-4", "an id that is no UUID of version 7", "version 7", func(m *model) int {
		id := m.ID("oak").String()
		return m.change(m.at("oak"), `"id":"`+id, `"id":"`+id[:14]+"4"+id[15:])
	}},
	{"number-zero", "number 0 of a chain", "want a number from 1", func(m *model) int { return m.change(m.at("oak"), `"seq":5`, `"seq":0`) }},
	{"time-too-late", "a time of 2^48", "want a number from 0", func(m *model) int {
		return m.change(m.at("oak"), fmt.Sprintf(`"time":%d`, m.Entry("oak").Time), `"time":281474976710656`)
	}},
	{"long-kind", "a kind of 65 bytes", "65 bytes", func(m *model) int {
		return m.change(m.at("oak"), `"kind":"tree"`, `"kind":"`+strings.Repeat("k", 65)+`"`)
	}},
	{"other-key", "a key that the device is not named by", "not the SHA-256", func(m *model) int { return m.digit(m.at("day"), `"key":"`) }},
	{"key-later", "a key in number 2 of a chain", "with a key", func(m *model) int {
		e := m.Entry("h1")
		key := fmt.Sprintf(`"key":"%x","kind"`, m.Entry("day").Key)
		m.change(m.at("h1"), `"kind"`, key)
		return m.change(m.first(`{"entry":{"body":{"at_nm"`, 0), fmt.Sprintf(`"prev":"%s",`, e.Prev), "")
	}},
	{"first-of-chain-gone", "number 1 of a chain is missing", "prev", func(m *model) int { i := m.at("day"); m.remove(i); return i + 1 }},
	{"middle-gone", "a line from the middle of a chain is missing", "prev", func(m *model) int { i := m.at("desk"); m.remove(i); return i + 1 }},
	{"other-prev", "an entry names as the one before it what is not there", "prev", func(m *model) int { return m.digit(m.at("oak"), `"prev":"`) }},
	{"prev-of-another", "an entry names as the one before it one of another device", "prev is number", func(m *model) int {
		name, other, device := "h1", "firm", "phone"
		if m.at("day") < m.at("firm") {
			name, other, device = "boss", "day", "office"
		}
		e := m.Entry(name)
		return m.resignEntry(name, device, e.Prev.String(), m.Entry(other).Hash().String())
	}},
	{"number-jumps", "number 6 of a chain after number 4", "prev is number 4", func(m *model) int { return m.resignEntry("oak", "office", `"seq":5`, `"seq":6`) }},

	// 4 and 5: hashes and signatures
	{"altered-body", "one letter of a body", "signature", func(m *model) int { return m.change(m.at("oak"), "Quercus robur", "Quercus rubur") }},
	{"altered-time", "the time of an entry", "signature", func(m *model) int {
		return m.change(m.at("oak"), fmt.Sprintf(`"time":%d`, m.Entry("oak").Time), fmt.Sprintf(`"time":%d`, m.Entry("oak").Time-86_400_000))
	}},
	{"altered-signature", "one digit of a signature", "signature", func(m *model) int { return m.digit(m.at("oak"), `"sig":"`) }},
	{"signed-by-another", "an entry signed by another device", "signature", func(m *model) int {
		i := m.at("oak")
		m.resign(i, "entry", `{"entry":`, "phone")
		return i + 1
	}},
	{"signed-as-a-head", "an entry signed as a head is", "signature", func(m *model) int {
		i := m.at("oak")
		m.resign(i, "head", `{"entry":`, "office")
		return i + 1
	}},
	{"signature-not-reduced", "a signature with the order of the group added to it", "signature", func(m *model) int { return m.unreduced(m.at("oak")) }},
	{"rewritten", "an entry altered and signed again by its device: the next one tells", "prev", func(m *model) int {
		return m.resignEntry("desk", "office", `"name":"office"`, `"name":"Office"`) + 1
	}},
	{"rewritten-tip", "the last entry of a chain altered and signed again: its receipt tells", "no entry", func(m *model) int {
		m.resignEntry("word", "phone", `"text":"word"`, `"text":"deed"`)
		return m.receipt(7) + 1
	}},

	// 6 and 7: receipts and heads
	{"receipt-gone", "a receipt is missing", "receipt 3, want 2", func(m *model) int { i := m.receipt(2); m.remove(i); return i + 1 }},
	{"receipt-twice", "an entry with two receipts", "has one already", func(m *model) int {
		i := m.receipt(4)
		return m.change(i, m.Entry("oak").Hash().String(), m.Entry("park").Hash().String())
	}},
	{"receipt-of-nothing", "a receipt for an entry that is not there", "no entry", func(m *model) int { return m.digit(m.receipt(4), `"entry":"`) }},
	{"receipt-altered", "the time of a receipt: the next head tells", "root", func(m *model) int {
		i := m.receipt(1)
		m.lines[i] = strings.Replace(m.lines[i], `"time":1`, `"time":2`, 1)
		return m.head(0) + 1
	}},
	{"head-altered", "the root of a head", "signature", func(m *model) int { return m.digit(m.head(0), `"root":"`) }},
	{"head-signature", "one digit of the signature of a head", "signature", func(m *model) int { return m.digit(m.head(0), `"sig":"`) }},
	{"head-of-another-key", "a head that names a key which did not sign it", "signature", func(m *model) int {
		phone := fmt.Sprintf("%x", m.Signer("phone").Public())
		return m.change(m.head(0), fmt.Sprintf("%x", m.Signer("office").Public()), phone)
	}},
	{"head-of-a-lie", "a head over other receipts, signed by the office", "root", func(m *model) int {
		i := m.digit(m.head(1), `"root":"`) - 1
		m.resign(i, "head", `{"head":`, "office")
		return i + 1
	}},

	// 9: what a checker alone cannot see
	{"head-of-a-stranger", "a head of another key, signed by it: hold its key against the office's", "", func(m *model) int {
		i := m.head(1)
		m.change(i, fmt.Sprintf("%x", m.Signer("office").Public()), fmt.Sprintf("%x", m.Signer("phone").Public()))
		m.resign(i, "head", `{"head":`, "phone")
		return 0
	}},
	{"end-gone", "the end is missing, from the first head on: hold it against a head that was kept", "", func(m *model) int {
		m.lines = m.lines[:m.head(0)]
		return 0
	}},
	{"forked", "a device was restored from an old copy: both branches are there", "", func(m *model) int {
		if err := m.Tell("phone/day: h2 hole day oak 700"); err != nil {
			panic(err)
		}
		m.insert(m.at("word")+1, string(m.Entry("h2").Line)+"\n")
		return 0
	}},
	{"nothing", "no line at all", "", func(m *model) int { m.lines = nil; return 0 }},
}

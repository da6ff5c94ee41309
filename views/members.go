package views

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"

	"sapwell/journal"
)

// wire goes through the members of a value in their order, writing or reading
// them. Once it has read something strange it stands still.
type wire struct {
	text             []byte // written so far, or to be read
	at               int    // where it reads
	reading, strange bool
	bare             bool // a member follows that needs no comma
}

// mark writes or reads what always stands there.
func (w *wire) mark(s string) {
	if !w.reading {
		w.text = append(w.text, s...)
	} else if !w.skip(s) {
		w.strange = true
	}
}

// skip reads what may stand there.
func (w *wire) skip(s string) bool {
	if w.strange || len(w.text)-w.at < len(s) || string(w.text[w.at:w.at+len(s)]) != s {
		return false
	}
	w.at += len(s)
	return true
}

// key writes the name of a member that is there, or reads whether it is.
func (w *wire) key(name string, there bool) bool {
	opening := `,"`
	if w.bare {
		opening = `"`
	}
	if !w.reading {
		if there {
			w.text = append(append(append(w.text, opening...), name...), `":`...)
			w.bare = false
		}
		return there
	}
	from := w.at
	if there = w.skip(opening) && w.skip(name) && w.skip(`":`); !there {
		w.at = from
		return false
	}
	w.bare = false
	return true
}

// must is key for what is always there.
func (w *wire) must(name string) bool {
	ok := w.key(name, true)
	w.strange = w.strange || !ok
	return ok
}

func (w *wire) object(name string, members func()) {
	if w.must(name) {
		w.braces(members)
	}
}

func (w *wire) braces(members func()) {
	w.mark("{")
	w.bare = true
	members()
	w.bare = false
	w.mark("}")
}

// list is a member that is absent where it is empty, of objects.
func list[T any](w *wire, name string, all *[]T, members func(*T, *wire)) {
	const size = 600 // of a hole and a unit, about
	several(w, name, all, size, func(one *T) {
		w.braces(func() { members(one, w) })
	})
}

// several is a member that is absent where it is empty, of whatever each writes,
// in about so many bytes.
func several[T any](w *wire, name string, all *[]T, size int, each func(*T)) {
	if !w.key(name, len(*all) > 0) {
		return
	}
	w.mark("[")
	if w.reading && size < len(w.text)-w.at {
		*all = slices.Grow(*all, (len(w.text)-w.at)/size+1)
	}
	for i := 0; ; i++ {
		if w.reading {
			*all = append(*all, *new(T))
		}
		each(&(*all)[i])
		if w.reading && !w.skip(",") || !w.reading && i == len(*all)-1 {
			break
		}
		if !w.reading {
			w.mark(",")
		}
	}
	w.mark("]")
}

func (w *wire) id(name string, id *journal.ID) {
	if w.must(name) {
		w.uuid(id)
	}
}

func (w *wire) maybeID(name string, id *journal.ID) {
	if w.key(name, *id != journal.ID{}) {
		w.uuid(id)
	}
}

func (w *wire) maybeIDs(name string, ids *[]journal.ID) { several(w, name, ids, math.MaxInt, w.uuid) }

func (w *wire) whole(name string, n *int64) {
	if w.must(name) {
		w.number(n)
	}
}

func (w *wire) maybeWhole(name string, n *int64) {
	if w.key(name, *n != 0) {
		w.number(n)
	}
}

func (w *wire) maybeWords(name string, s *string) {
	if w.key(name, *s != "") {
		w.words(s)
	}
}

func (w *wire) number(n *int64) {
	if !w.reading {
		w.text = strconv.AppendInt(w.text, *n, 10)
		return
	}
	negative := w.skip("-")
	t := w.text[w.at:]
	digits := 0
	var v int64
	for ; digits < len(t) && digits < 18 && '0' <= t[digits] && t[digits] <= '9'; digits++ {
		v = 10*v + int64(t[digits]-'0')
	}
	if digits == 0 || digits == 18 || t[0] == '0' && (digits > 1 || negative) {
		w.strange = true
		return
	}
	if negative {
		v = -v
	}
	*n = v
	w.at += digits
}

func (w *wire) uuid(id *journal.ID) {
	w.mark(`"`)
	if w.reading {
		w.strange = w.strange || !readID(id, w.text[w.at:min(len(w.text), w.at+idLen)])
		w.at += idLen
	} else {
		w.text = append(w.text, idText(id)...)
	}
	w.mark(`"`)
}

const (
	hexDigits = "0123456789abcdef"
	idLen     = 36 // as text
)

func idText(id *journal.ID) []byte {
	var text [idLen]byte
	at := 0
	for i, b := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			text[at] = '-'
			at++
		}
		text[at], text[at+1] = hexDigits[b>>4], hexDigits[b&15]
		at += 2
	}
	return text[:]
}

// readID reads an id of version 7.
func readID(id *journal.ID, text []byte) bool {
	if len(text) != idLen {
		return false
	}
	bad := byte(0)
	at := 0
	for i := range id {
		if i == 4 || i == 6 || i == 8 || i == 10 {
			bad |= text[at] ^ '-'
			at++
		}
		high, low := digit(text[at]), digit(text[at+1])
		bad |= (high | low) & 0xf0
		id[i] = high<<4 | low
		at += 2
	}
	return bad == 0 && id[6]>>4 == 7 && id[8]>>6 == 2
}

// digit is the value of a lower-case hex digit, above 15 where c is none.
func digit(c byte) byte {
	switch {
	case '0' <= c && c <= '9':
		return c - '0'
	case 'a' <= c && c <= 'f':
		return c - 'a' + 10
	}
	return 255
}

// words are quoted as encoding/json does it.
func (w *wire) words(s *string) {
	if !w.reading {
		quoted, err := json.Marshal(*s)
		w.strange = w.strange || err != nil // not reached: every string can be written
		w.text = append(w.text, quoted...)
		return
	}
	t := w.text[w.at:]
	end := 1
	for end < len(t) && t[end] != '"' {
		if t[end] == '\\' {
			end++
		}
		end++
	}
	if end >= len(t) || json.Unmarshal(t[:end+1], s) != nil {
		w.strange = true
		return
	}
	w.at += end + 1
}

package journal

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

const (
	maxLine  = 1 << 20     // bytes of a line
	maxDepth = 64          // objects and arrays within one another
	maxWhole = 1<<53 - 1   // greatest integer
	tailLen  = 8 + 128 + 2 // ,"sig":"…"}
)

// Canonical returns the canonical form (RFC 8785) of one JSON value, held to
// integers of at most 2^53-1 either way. It refuses what is not JSON (RFC 8259),
// fractions and exponents, the same key twice, invalid UTF-8, lone surrogates,
// more than 64 levels and more than 1 MiB. The error names the byte.
func Canonical(src []byte) ([]byte, error) {
	r, err := readJSON(src)
	return r.out, err
}

// readJSON reads one value and nothing after it.
func readJSON(src []byte) (reader, error) {
	if len(src) > maxLine {
		return reader{}, fmt.Errorf("%d bytes, want at most %d", len(src), maxLine)
	}
	r := reader{src: src, out: make([]byte, 0, len(src))}
	r.space()
	err := r.value()
	if r.space(); err == nil && r.pos < len(src) {
		err = errors.New("want the end here")
	}
	if err != nil {
		return reader{}, fmt.Errorf("JSON, byte %d: %w", r.pos+1, err)
	}
	return r, nil
}

// checkCanonical refuses a line that is not its own canonical form.
func checkCanonical(line []byte) error {
	out, err := Canonical(line)
	if err == nil && !bytes.Equal(out, line) {
		err = errors.New("not in canonical form")
	}
	return err
}

// reader goes through src once and writes the canonical form to out.
type reader struct {
	src, out   []byte
	pos, depth int
	open       []member // of the objects around pos
}

// peek is the byte to be read next, 0 at the end (and 0 starts nothing).
func (r *reader) peek() byte {
	if r.pos < len(r.src) {
		return r.src[r.pos]
	}
	return 0
}

func (r *reader) space() {
	for r.pos < len(r.src) && strings.IndexByte(" \t\n\r", r.src[r.pos]) >= 0 {
		r.pos++
	}
}

func (r *reader) value() error {
	switch c := r.peek(); {
	case c == '{':
		return r.nested('}', r.object)
	case c == '[':
		return r.nested(']', r.array)
	case c == '"':
		text, err := r.text()
		r.out = appendText(r.out, text)
		return err
	case c == '-' || '0' <= c && c <= '9':
		return r.number()
	}
	for _, word := range [...]string{"true", "false", "null"} {
		if bytes.HasPrefix(r.src[r.pos:], []byte(word)) {
			r.out = append(r.out, word...)
			r.pos += len(word)
			return nil
		}
	}
	return errors.New("want a value")
}

// nested reads the brackets and, unless they are empty, what they hold.
func (r *reader) nested(end byte, inside func() error) error {
	if r.depth++; r.depth > maxDepth {
		return fmt.Errorf("more than %d levels", maxDepth)
	}
	r.out = append(r.out, r.src[r.pos])
	r.pos++
	if r.space(); r.peek() != end {
		if err := inside(); err != nil {
			return err
		}
	}
	if r.peek() != end {
		return fmt.Errorf("want , or %c", end)
	}
	r.pos++
	r.depth--
	r.out = append(r.out, end)
	return nil
}

func (r *reader) array() error {
	for {
		r.space()
		if err := r.value(); err != nil {
			return err
		}
		if r.space(); r.peek() != ',' {
			return nil
		}
		r.pos++
		r.out = append(r.out, ',')
	}
}

// member is one member of an object: its key, and where key and value stand in
// out.
type member struct {
	key        []byte
	start, end int
}

func (r *reader) object() error {
	start, outer := len(r.out), len(r.open)
	if err := r.members(); err != nil {
		return err
	}
	members := r.open[outer:]
	r.open = r.open[:outer]
	byKey := func(a, b member) int { return compareUTF16(a.key, b.key) }
	if !slices.IsSortedFunc(members, byKey) {
		old := bytes.Clone(r.out[start:])
		slices.SortFunc(members, byKey)
		r.out = r.out[:start]
		for i, m := range members {
			if i > 0 {
				r.out = append(r.out, ',')
			}
			r.out = append(r.out, old[m.start-start:m.end-start]...)
		}
	}
	for i := 1; i < len(members); i++ {
		if bytes.Equal(members[i].key, members[i-1].key) {
			return fmt.Errorf("key %q twice in one object", members[i].key)
		}
	}
	return nil
}

// members writes them in the order read.
func (r *reader) members() error {
	for {
		m := member{start: len(r.out)}
		if r.space(); r.peek() != '"' {
			return errors.New("want a key in double quotes")
		}
		var err error
		if m.key, err = r.text(); err != nil {
			return err
		}
		if r.space(); r.peek() != ':' {
			return errors.New("want : after the key")
		}
		r.pos++
		r.out = append(appendText(r.out, m.key), ':')
		r.space()
		if err := r.value(); err != nil {
			return err
		}
		m.end = len(r.out)
		r.open = append(r.open, m)
		if r.space(); r.peek() != ',' {
			return nil
		}
		r.pos++
		r.out = append(r.out, ',')
	}
}

// number reads an integer. Digits that JSON would let be followed by a fraction
// or an exponent must not be.
func (r *reader) number() error {
	start, negative := r.pos, r.peek() == '-'
	if negative {
		r.pos++
	}
	first := r.pos
	var n int64
	for ; '0' <= r.peek() && r.peek() <= '9'; r.pos++ {
		if n = 10*n + int64(r.peek()-'0'); n > maxWhole {
			return errWhole
		}
	}
	switch c := r.peek(); {
	case r.pos == first:
		return errors.New("want a digit")
	case r.pos > first+1 && r.src[first] == '0':
		return errors.New("want no leading zero")
	case c == '.' || c == 'e' || c == 'E':
		return errWhole
	case n == 0:
		r.out = append(r.out, '0') // -0 is 0 (RFC 8785, section 3.2.2.3)
	default:
		r.out = append(r.out, r.src[start:r.pos]...)
	}
	return nil
}

var errWhole = errors.New("want an integer from -(2^53-1) to 2^53-1, without fraction or exponent")

// compareUTF16 orders keys by their UTF-16 code units (RFC 8785, section
// 3.2.3): like code points, but for those above U+FFFF, whose first unit is a
// surrogate, below U+E000.
func compareUTF16(a, b []byte) int {
	for len(a) > 0 && len(b) > 0 {
		ra, na := utf8.DecodeRune(a)
		rb, nb := utf8.DecodeRune(b)
		if ra != rb {
			ua, ub := firstUnit(ra), firstUnit(rb)
			if ua != ub {
				return int(ua - ub)
			}
			return int(ra - rb)
		}
		a, b = a[na:], b[nb:]
	}
	return len(a) - len(b)
}

// firstUnit is the first UTF-16 code unit of r.
func firstUnit(r rune) rune {
	if r < 0x10000 {
		return r
	}
	return 0xd800 + (r-0x10000)>>10
}

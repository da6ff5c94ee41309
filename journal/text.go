package journal

import (
	"bytes"
	"errors"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// text reads a string of JSON and returns what it says.
func (r *reader) text() ([]byte, error) {
	r.pos++
	start := r.pos
	n := plain(r.src[start:])
	if r.pos += n; r.peek() == '"' { // the common case: nothing to unescape
		r.pos++
		return r.src[start : start+n], nil
	}
	said := bytes.Clone(r.src[start:r.pos])
	for {
		switch c := r.peek(); {
		case c == '"':
			r.pos++
			return said, nil
		case c == '\\':
			char, err := r.escape()
			if err != nil {
				return nil, err
			}
			said = utf8.AppendRune(said, char)
		case c < 0x20:
			return nil, errors.New("want the end of the string, or an escape for a control character")
		default:
			char, n := utf8.DecodeRune(r.src[r.pos:])
			if char == utf8.RuneError && n == 1 {
				return nil, errors.New("invalid UTF-8")
			}
			said = append(said, r.src[r.pos:r.pos+n]...)
			r.pos += n
		}
	}
}

// plain counts the leading bytes of ASCII that stand for themselves.
func plain(s []byte) int {
	for i, c := range s {
		if c < 0x20 || c == '"' || c == '\\' || c >= utf8.RuneSelf {
			return i
		}
	}
	return len(s)
}

const (
	shortNames = `"\/bfnrt`
	shortChars = "\"\\/\b\f\n\r\t"
)

// escape reads from the backslash on.
func (r *reader) escape() (rune, error) {
	r.pos++
	c := r.peek()
	if i := strings.IndexByte(shortNames, c); i >= 0 {
		r.pos++
		return rune(shortChars[i]), nil
	}
	if c != 'u' {
		return 0, errors.New(`want one of "\/bfnrtu after a backslash`)
	}
	first, err := r.unit()
	if err != nil || !utf16.IsSurrogate(first) {
		return first, err
	}
	if !bytes.HasPrefix(r.src[r.pos:], []byte(`\u`)) {
		return 0, errLone
	}
	r.pos++
	second, err := r.unit()
	if err != nil {
		return 0, err
	}
	char := utf16.DecodeRune(first, second)
	if char == utf8.RuneError {
		return 0, errLone
	}
	return char, nil
}

var errLone = errors.New("lone surrogate")

// unit reads u and four hex digits of either case.
func (r *reader) unit() (rune, error) {
	r.pos++
	var b [2]byte
	if len(r.src) < r.pos+4 || fromHex(b[:], bytes.ToLower(r.src[r.pos:r.pos+4])) != nil {
		return 0, errors.New(`want four hex digits after \u`)
	}
	r.pos += 4
	return rune(b[0])<<8 | rune(b[1]), nil
}

// appendText writes a string as RFC 8785, section 3.2.2.2 has it.
func appendText(out, text []byte) []byte {
	const digits = "0123456789abcdef"
	out = append(out, '"')
	for _, c := range text {
		i := strings.IndexByte(shortChars, c)
		switch {
		case i >= 0 && c != '/':
			out = append(out, '\\', shortNames[i])
		case c < 0x20:
			out = append(out, '\\', 'u', '0', '0', digits[c>>4], digits[c&15])
		default:
			out = append(out, c)
		}
	}
	return append(out, '"')
}

package entries

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"

	"sapwell/journal"
)

// Fault says which member of a body cannot be. Field is its path, such as
// "stems[0].girth.around_nm"; Text names the value and what would be accepted.
type Fault struct {
	Field string
	Text  string
}

func (f *Fault) Error() string {
	if f.Field == "" {
		return f.Text
	}
	return f.Field + ": " + f.Text
}

func fault(field, format string, args ...any) *Fault {
	return &Fault{field, fmt.Sprintf(format, args...)}
}

// within puts the name of what holds the faulty thing in front of its path.
func within(name string, err error) error {
	var f *Fault
	if !errors.As(err, &f) {
		f = &Fault{Text: err.Error()}
	}
	if f.Field != "" && f.Field[0] != '[' {
		name += "."
	}
	return &Fault{name + f.Field, f.Text}
}

var (
	errTrailing     = errors.New("something follows the body, want the end")
	errNotCanonical = errors.New("not in canonical form (RFC 8785)")
)

// scanner reads JSON in canonical form and refuses every other form. It goes
// through the bytes once: an entry's line was found to be canonical when it was
// taken, and a million of them are read when views are folded anew.
type scanner struct{ rest []byte }

// wanted reports what should stand here.
func (s *scanner) wanted(what string) error {
	if len(s.rest) == 0 {
		return fault("", "ends early, want %s", what)
	}
	found := s.rest
	if n := bytes.IndexAny(found, ",}]"); n > 0 {
		found = found[:n]
	}
	return fault("", "%.40s, want %s", found, what)
}

func (s *scanner) try(token string) bool {
	rest, ok := bytes.CutPrefix(s.rest, []byte(token))
	if ok {
		s.rest = rest
	}
	return ok
}

func (s *scanner) literal(token, what string) error {
	if !s.try(token) {
		return s.wanted(what)
	}
	return nil
}

// plain counts the leading bytes that stand for themselves in a string of JSON
// and are a character each.
func plain[T string | []byte](s T) int {
	for i := range len(s) {
		if c := s[i]; c < 0x20 || c == '"' || c == '\\' || c >= utf8.RuneSelf {
			return i
		}
	}
	return len(s)
}

// plainText reads a string of such characters only: it is not copied.
func (s *scanner) plainText() ([]byte, error) {
	if len(s.rest) == 0 || s.rest[0] != '"' {
		return nil, s.wanted("a text")
	}
	n := 1 + plain(s.rest[1:])
	if n >= len(s.rest) || s.rest[n] != '"' {
		return nil, s.wanted("a text of plain letters and digits")
	}
	text := s.rest[1:n]
	s.rest = s.rest[n+1:]
	return text, nil
}

// key reads the name of a member and its colon.
func (s *scanner) key() ([]byte, error) {
	key, err := s.plainText()
	if err != nil {
		return nil, err
	}
	return key, s.literal(":", "a colon")
}

func (s *scanner) text() (string, error) {
	if len(s.rest) == 0 || s.rest[0] != '"' {
		return "", s.wanted("a text")
	}
	end := 1 + plain(s.rest[1:])
	if end < len(s.rest) && s.rest[end] == '"' { // the common case
		text := string(s.rest[1:end])
		s.rest = s.rest[end+1:]
		return text, nil
	}
	for end < len(s.rest) && s.rest[end] != '"' {
		if s.rest[end] == '\\' {
			end++
		}
		end++
	}
	if end >= len(s.rest) {
		return "", s.wanted("the end of the text")
	}
	quoted := s.rest[:end+1]
	canonical, err := journal.Canonical(quoted)
	if err != nil || !bytes.Equal(canonical, quoted) {
		return "", errNotCanonical
	}
	s.rest = s.rest[end+1:]
	var text string
	err = json.Unmarshal(quoted, &text)
	return text, err
}

// whole reads a number.
func (s *scanner) whole() (int64, error) {
	n := 0
	for n < len(s.rest) && (s.rest[n] == '-' || '0' <= s.rest[n] && s.rest[n] <= '9') {
		n++
	}
	v, err := strconv.ParseInt(string(s.rest[:n]), 10, 64)
	if err != nil || v < -maxWhole || v > maxWhole || strconv.FormatInt(v, 10) != string(s.rest[:n]) {
		return 0, s.wanted("a whole number up to 2^53-1 either way")
	}
	s.rest = s.rest[n:]
	return v, nil
}

// object takes an object as it stands, up to the brace that closes it.
func (s *scanner) object() ([]byte, error) {
	if len(s.rest) == 0 || s.rest[0] != '{' {
		return nil, s.wanted("an object")
	}
	depth, quoted := 0, false
	for i := 0; i < len(s.rest); i++ {
		switch c := s.rest[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case !quoted && c == '{':
			depth++
		case !quoted && c == '}':
			depth--
		}
		if depth == 0 {
			object := s.rest[:i+1]
			s.rest = s.rest[i+1:]
			return object, nil
		}
	}
	return nil, s.wanted("the end of the object")
}

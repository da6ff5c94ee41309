package treelist

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"sapwell/engine/why"
)

// Fault is one thing wrong with the list, with what would be accepted.
type Fault struct {
	File   string     `json:"file"`
	Line   int        `json:"line"`
	Column string     `json:"column"` // as the list names it, or its number; empty: the whole line
	Value  string     `json:"value"`
	Code   string     `json:"code"`            // words: "fault.trees.<code>", with Terms as the blanks
	Want   string     `json:"want"`            // what would be accepted, in English
	Terms  []why.Term `json:"terms,omitempty"` // line, column, value and what else the sentence names; all text
}

// maxShown is how much of a bad value is quoted, in runes.
const maxShown = 60

// Error says it in English: file, line, column, value, what is wrong, what would
// be accepted.
func (f *Fault) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d: ", f.File, f.Line)
	if f.Column != "" {
		b.WriteString(f.Column + ": ")
	}
	if f.Value != "" {
		fmt.Fprintf(&b, "%q ", f.Value)
	}
	b.WriteString(filled(texts[f.Code].is, f.Terms))
	if f.Want != "" {
		b.WriteString("; accepted: " + f.Want)
	}
	return b.String()
}

// newFault makes a Fault; extra are the blanks of its text beyond line, column
// and value, as name and value in turn.
func newFault(file string, line int, column, value, code string, extra ...string) *Fault {
	value = shown(value)
	f := &Fault{File: file, Line: line, Column: column, Value: value, Code: code}
	f.Terms = []why.Term{why.T("line", fmt.Sprint(line)), why.T("column", column), why.T("value", value)}
	for i := 0; i+1 < len(extra); i += 2 {
		f.Terms = append(f.Terms, why.T(extra[i], shown(extra[i+1])))
	}
	f.Want = filled(texts[code].want, f.Terms)
	return f
}

// shown cuts a value to a length that fits a line of a terminal. Bytes that are
// not UTF-8 become \x.., so that a report never carries them on.
func shown(s string) string {
	if !utf8.ValidString(s) {
		var b strings.Builder
		for len(s) > 0 && b.Len() < 4*maxShown {
			r, n := utf8.DecodeRuneInString(s)
			if r == utf8.RuneError && n == 1 {
				fmt.Fprintf(&b, `\x%02x`, s[0])
			} else {
				b.WriteRune(r)
			}
			s = s[n:]
		}
		s = b.String()
	}
	n := 0
	for i := range s {
		if n++; n > maxShown {
			return s[:i] + "…"
		}
	}
	return s
}

// filled puts terms into the {blanks} of a text.
func filled(text string, terms []why.Term) string {
	if !strings.Contains(text, "{") {
		return text
	}
	for _, t := range terms {
		text = strings.ReplaceAll(text, "{"+t.Name+"}", fmt.Sprint(t.Value))
	}
	return text
}

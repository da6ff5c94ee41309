package treelist

import (
	"fmt"
	"strings"
	"unicode"
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

// Error says it in English: file, line, column, what is wrong with the value,
// what would be accepted.
func (f *Fault) Error() string {
	where := fmt.Sprintf("%s:%d: ", f.File, f.Line)
	if f.Column != "" {
		where += shown(f.Column) + ": "
	}
	return where + filled(texts[f.Code].is, f.Terms) + "; accepted: " + f.Want
}

// newFault makes a Fault; extra are the blanks of its text beyond line, column
// and value, as name and value in turn.
func newFault(file string, line int, column, value, code string, extra ...string) *Fault {
	value = shown(value)
	f := &Fault{File: file, Line: line, Column: column, Value: value, Code: code}
	f.Terms = []why.Term{why.T("line", fmt.Sprint(line)), why.T("column", shown(column)), why.T("value", value)}
	for i := 0; i+1 < len(extra); i += 2 {
		f.Terms = append(f.Terms, why.T(extra[i], shown(extra[i+1])))
	}
	f.Want = filled(texts[code].want, f.Terms)
	return f
}

// shown cuts a value to a length that fits a line of a terminal. Control
// characters and bytes that are not UTF-8 become \x.., so that a report never
// carries them on.
func shown(s string) string {
	if len(s) <= maxShown && !strings.ContainsFunc(s, unshowable) {
		return s
	}
	var b strings.Builder
	for n := 0; len(s) > 0; n++ {
		if n == maxShown {
			b.WriteString("…")
			break
		}
		r, size := utf8.DecodeRuneInString(s)
		if unshowable(r) {
			for _, raw := range []byte(s[:size]) {
				fmt.Fprintf(&b, `\x%02x`, raw)
			}
		} else {
			b.WriteString(s[:size])
		}
		s = s[size:]
	}
	return b.String()
}

// unshowable reports what would upset a terminal, and U+FFFD, which also
// stands for a byte that is not UTF-8.
func unshowable(r rune) bool {
	return r == utf8.RuneError || !unicode.IsPrint(r) && r != '\u00a0'
}

// filled puts terms into the {blanks} of a text.
func filled(text string, terms []why.Term) string {
	if !strings.Contains(text, "{") {
		return text
	}
	pairs := make([]string, 0, 2*len(terms))
	for _, t := range terms {
		pairs = append(pairs, "{"+t.Name+"}", fmt.Sprint(t.Value))
	}
	return strings.NewReplacer(pairs...).Replace(text)
}

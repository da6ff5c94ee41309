// Package words answers: how is this said to a person?
//
// Keys and terms in, sentences out. The catalogue lies in words/<language>/*.json,
// one file an area; every language has every key (a test proves it). A message is
// a string with {name} blanks, or {"by": "n", "one": ..., "other": ...} where the
// term n holds the count.
package words

import (
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Printer says things in one language and in one person's units. It is safe for
// use by many at once.
type Printer struct {
	Lang  string
	Style quantity.Style

	messages map[string]message
}

// New makes a Printer, or an error that lists the languages there are.
func New(lang string, style quantity.Style) (*Printer, error) {
	if !slices.Contains(Languages(), lang) {
		return nil, fmt.Errorf("language %q: want one of %s", lang, strings.Join(Languages(), ", "))
	}
	messages, err := load(files, lang)
	if err != nil {
		return nil, err
	}
	return &Printer{Lang: lang, Style: style, messages: messages}, nil
}

// Languages lists the languages of the catalogue, ascending.
func Languages() []string {
	dirs, _ := files.ReadDir(".") // an embedded folder is always there
	var langs []string
	for _, d := range dirs {
		langs = append(langs, d.Name())
	}
	slices.Sort(langs)
	return langs
}

// Say returns the message key with its blanks filled from terms; a blank without
// a term is "not known". A key that is not in the catalogue comes back in ⟨angle
// brackets⟩: a test finds those.
func (p *Printer) Say(key string, terms ...why.Term) string {
	m, ok := p.messages[key]
	if !ok {
		return "⟨" + key + "⟩"
	}
	return m.fill(func(name string) any {
		for _, t := range terms {
			if t.Name == name {
				return t.Value
			}
		}
		return nil
	}, p.Value)
}

// Field is how a fact of a record is called; by its own name where a profile asks what
// the catalogue does not know yet.
func (p *Printer) Field(name string) string {
	if p.has("field." + name) {
		return p.Say("field." + name)
	}
	return name
}

// has reports whether there is a message of that key.
func (p *Printer) has(key string) bool {
	_, ok := p.messages[key]
	return ok
}

// Finding returns the sentence and the remedy of a finding. Its place may be
// named as {place} besides its terms. A sentence that speaks of one stem of
// several, and does not name it itself, gets the stem in front.
func (p *Printer) Finding(f why.Finding) (sentence, remedy string) {
	terms := append(slices.Clone(f.Terms), why.T("place", f.Place))
	sentence, remedy = p.Say("finding."+f.Code, terms...), p.Say("remedy."+f.Code, terms...)
	i := slices.IndexFunc(f.Terms, func(t why.Term) bool { return t.Name == "stem" })
	if i >= 0 && !strings.Contains(p.messages["finding."+f.Code].Other, "{stem}") {
		sentence = p.Say("stem.finding", f.Terms[i], why.T("sentence", sentence))
	}
	return sentence, remedy
}

// Source names who says so, short enough for the end of a line.
func (p *Printer) Source(s why.Source) string {
	if key := "source." + string(s); p.has(key) {
		return p.Say(key)
	}
	if c, ok := why.Cite(s); ok {
		return c.Short()
	}
	return p.Value(string(s))
}

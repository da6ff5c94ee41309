package server

import (
	"fmt"
	"net/http"

	"golang.org/x/text/language"

	"sapwell/actions"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

// speech says things in the languages of the catalogue.
type speech struct {
	matcher  language.Matcher
	langs    []string
	printers map[string]*words.Printer
}

// fallback is what is spoken with whoever asks for nothing that we know.
const fallback = "en"

func newSpeech() speech {
	sp := speech{langs: []string{fallback}, printers: map[string]*words.Printer{}}
	for _, l := range words.Languages() {
		p, err := words.New(l, quantity.Style{})
		if err != nil {
			panic(fmt.Sprintf("the words within the program: %v", err)) // a test reads them all
		}
		sp.printers[l] = p
		if l != fallback {
			sp.langs = append(sp.langs, l)
		}
	}
	var tags []language.Tag
	for _, l := range sp.langs {
		tags = append(tags, language.Make(l))
	}
	sp.matcher = language.NewMatcher(tags)
	return sp
}

// asked is the language of Accept-Language that we speak best.
func (sp speech) asked(r *http.Request) string {
	accept := r.Header.Get("Accept-Language")
	if accept == "" || len(accept) > 200 { // a header that long asks for something else
		return fallback
	}
	tags, _, err := language.ParseAcceptLanguage(accept)
	if err != nil {
		return fallback
	}
	_, i, _ := sp.matcher.Match(tags...)
	return sp.langs[i]
}

func (sp speech) printer(lang string) *words.Printer {
	if p, ok := sp.printers[lang]; ok {
		return p
	}
	return sp.printers[fallback]
}

func (sp speech) say(lang, key string, terms ...why.Term) string {
	return sp.printer(lang).Say(key, terms...)
}

// refusal says why a deed was not done.
func (sp speech) refusal(lang string, r *actions.Refusal) string {
	return sp.printer(lang).Refusal(r.Code, r.Field, r.Text, r.Terms...)
}

func (sp speech) findings(lang string, found []why.Finding) []words.Finding {
	return sp.printer(lang).Findings(found)
}

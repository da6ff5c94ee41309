// Package place answers: which country or state is meant by what somebody typed?
//
// Law hangs on places, and people write them in many ways: UK, Great Britain, N.Y.,
// new york, Alemania. This is the one table of them. It holds the countries and
// parts of countries of which there are rules here, or of which somebody is asked;
// of any other it says that it does not know it, and never guesses.
package place

import (
	"strings"
	"sync"
	"unicode"
)

// US is the country whose states have rules of their own here.
const US = "US"

// Country is the ISO 3166-1 alpha-2 code of a country in code or words, English,
// Spanish or its own; known is false, and the code empty, where it stands not in the
// table. Case, spaces, dots and accents do not matter.
func Country(written string) (code string, known bool) {
	code = index().countries[fold(written)]
	return code, code != ""
}

// Code is what to keep of a country as somebody typed it: its code where it is
// known, else the text itself without spaces around it.
func Code(written string) string {
	if code, known := Country(written); known {
		return code
	}
	return strings.TrimSpace(written)
}

// Region is the part behind the hyphen of the ISO 3166-2 code of a state or
// territory of the US, as Country takes it: "ny", "US-NY" and "New York" are NY. Of
// another country it is the code itself, one to three letters or digits, for its
// parts stand in no table here; "" is unknown.
func Region(country, written string) (code string, known bool) {
	country = Code(country)
	text := strings.TrimSpace(written)
	if before, after, ok := strings.Cut(text, "-"); ok && Code(before) == country {
		text = after
	}
	if country == US {
		code = index().states[fold(text)]
		return code, code != ""
	}
	code = strings.ToUpper(strings.TrimSpace(text))
	if len(code) < 1 || len(code) > 3 || strings.Trim(code, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "" {
		return "", false
	}
	return code, true
}

// InEU reports whether a country, as Country takes it, is a member of the European
// Union.
func InEU(country string) bool {
	code, known := Country(country)
	return known && strings.Contains(members, code)
}

// fold takes away what people write differently: case, accents, and everything
// that is no letter or digit.
func fold(text string) string {
	letters := bare()
	return strings.Map(func(r rune) rune {
		if plain, accented := letters[r]; accented {
			return plain
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, strings.ToLower(text))
}

// accents are the accented letters of the names in the table, each before what it
// is without.
const accents = "áa àa âa äa ãa åa čc çc ďd ée èe êe ëe ěe íi îi ïi łl ñn ńn óo ôo öo őo øo řr šs şs șs ťt ţt țt úu üu űu ůu ýy žz żz źz άα έε ήη ίι όο ύυ ώω"

var bare = sync.OnceValue(func() map[rune]rune {
	letters := map[rune]rune{}
	for pair := range strings.FieldsSeq(accents) {
		letter := []rune(pair)
		letters[letter[0]] = letter[1]
	}
	return letters
})

// names are the table by folded name.
type names struct{ countries, states map[string]string }

var index = sync.OnceValue(func() names {
	return names{folded(countries), folded(states)}
})

func folded(rows []row) map[string]string {
	all := map[string]string{}
	for _, r := range rows {
		all[fold(r.code)] = r.code
		for name := range strings.SplitSeq(r.names, "|") {
			all[fold(name)] = r.code
		}
	}
	return all
}

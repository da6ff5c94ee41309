package records

import "strings"

// Said is what a profile says, in the languages that people here read. It stands
// beside what it says, so that another place is one file.
type Said struct {
	EN string `json:"en"`
	ES string `json:"es"`
}

// In is the text in a language; English where there is none in that.
func (s Said) In(lang string) string {
	if lang == "es" {
		return s.ES
	}
	return s.EN
}

// whole reports whether it is said in every language.
func (s Said) whole() bool {
	return strings.TrimSpace(s.EN) != "" && strings.TrimSpace(s.ES) != ""
}

package records

import (
	_ "embed"
	"slices"
	"sync"

	"sapwell/engine/place"
	"sapwell/engine/quantity"
)

//go:embed phones.json
var phoneFile []byte

// Phone is a number to call when somebody was hurt.
type Phone struct {
	Place     string        `json:"place"` // ISO 3166-1, or "EU"
	Name      string        `json:"name"`
	Number    string        `json:"number"`
	CheckedOn quantity.Date `json:"checked_on,omitzero"` // when somebody called it or read it at its source; zero: not yet
	Mark      string        `json:"mark"`                // confirmed in a text, or from memory
	Source    string        `json:"source,omitempty"`
}

var allPhones = sync.OnceValue(func() (list []Phone) {
	if err := strictly(phoneFile, &list); err != nil {
		panic(err) // a broken file cannot pass the tests
	}
	return list
})

// Phones lists the numbers of a country, the first to be called first. None is known
// of most countries.
func Phones(country string) []Phone {
	country = place.Code(country)
	inEU := place.InEU(country)
	return slices.DeleteFunc(slices.Clone(allPhones()), func(p Phone) bool {
		return p.Place != country && !(inEU && p.Place == "EU")
	})
}

package words

import (
	"testing"
)

// Every refusal and every finding of a deed can be said in every language, and
// what is written for a refusal is the refusal of some deed.
func TestDeedsHaveWords(t *testing.T) {
	u := scan(t, "../actions")
	if len(u.codes) == 0 {
		t.Fatal("nothing was found in the deeds: the scan is broken")
	}
	every(t, u.codes, func(m map[string]message, code string) bool {
		return has(m, "refusal."+code) || has(m, "finding."+code) && has(m, "remedy."+code)
	}, "refusal or finding")
}

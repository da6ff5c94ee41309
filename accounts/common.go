//go:build !js

package accounts

import (
	"strings"
	"unicode/utf8"
)

// minUncommon is how many characters of a password must be outside common words
// and rows.
const minUncommon = 5

// commonWords are what lists of passwords found in the open begin with, in
// English and Spanish (from memory; any such list has them).
var commonWords = strings.Fields(`
	password passw0rd p@ssword p@ssw0rd contraseña contrasena clave secreto secret
	letmein welcome bienvenido iloveyou tequiero teamo hello hola admin administrator
	administrador login user usuario guest root test temp default changeme cambiame
	master monkey dragon shadow sunshine princess princesa football futbol baseball
	superman batman flower lovely whatever trustno1 freedom estrella america
	barcelona madrid summer winter spring autumn verano invierno
	qwerty azerty qwertz 1q2w3e4r 1qaz2wsx q1w2e3r4 zaq12wsx abc123
	correcthorsebatterystaple correct horse battery staple
	sapwell tree trees arborist office`)

// keyRows are rows of keys; a piece of four or more of them is common, either way.
var keyRows = []string{"qwertyuiop", "poiuytrewq", "asdfghjklñ", "ñlkjhgfdsa", "zxcvbnm", "mnbvcxz", "1234567890", "0987654321"}

// uncommon is the least number of characters that are left of a password when
// it is cut into common words, rows of keys, runs such as aaaa and 4567, and the
// words in about.
func uncommon(password string, about []string) int {
	least := make([]int, len(password)+1) // for the bytes before i
	for i := range least[1:] {
		least[i+1] = len(password)
	}
	reach := func(from, to, more int) { least[to] = min(least[to], least[from]+more) }
	for i, r := range password {
		rest := password[i:]
		reach(i, i+utf8.RuneLen(r), 1)
		for n := range runs(rest) {
			reach(i, i+n, 0)
		}
		for _, row := range keyRows {
			if n := commonPrefix(rest, row); n >= 4 {
				reach(i, i+n, 0)
			}
		}
		for _, words := range [][]string{commonWords, about} {
			for _, w := range words {
				if w = strings.ToLower(w); len(w) >= 3 && strings.HasPrefix(rest, w) {
					reach(i, i+len(w), 0)
				}
			}
		}
	}
	return least[len(password)]
}

// runs yields the lengths in bytes, from three characters on, of the run at the
// beginning of s in which each character is the same as the one before it, or
// the next, or the previous one.
func runs(s string) func(yield func(int) bool) {
	return func(yield func(int) bool) {
		var last, step rune
		count := 0
		for i, r := range s {
			if count == 1 {
				step = r - last
			}
			if count > 0 && (r-last != step || step < -1 || step > 1) {
				return
			}
			count, last = count+1, r
			if count >= 3 && !yield(i+utf8.RuneLen(r)) {
				return
			}
		}
	}
}

// commonPrefix is how many bytes s and any part of row from where s begins have
// in common.
func commonPrefix(s, row string) int {
	first, _ := utf8.DecodeRuneInString(s)
	at := strings.IndexRune(row, first)
	if at < 0 {
		return 0
	}
	row = row[at:]
	n := 0
	for n < len(s) && n < len(row) && s[n] == row[n] {
		n++
	}
	for n > 0 && n < len(s) && !utf8.RuneStart(s[n]) {
		n--
	}
	return n
}

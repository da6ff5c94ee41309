package treelist

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"sapwell/engine/quantity"
)

// scale reads lengths. Lists repeat themselves ("12 in", "96 in"), so what was
// read once is remembered, up to a bound.
type scale struct {
	comma bool
	seen  map[lengthText]lengthRead
	units map[string]quantity.Length // one of each unit met; 0: no unit
}

type lengthText struct{ text, bare string }

type lengthRead struct {
	length quantity.Length
	code   string // of the fault; empty: none
}

// maxSeen bounds what is remembered: about a megabyte.
const maxSeen = 1 << 13

func newScale(comma bool) *scale {
	return &scale{comma, make(map[lengthText]lengthRead), make(map[string]quantity.Length)}
}

// length reads one length, a number alone being in bare; empty refuses it. The
// code is that of a fault, or empty.
func (s *scale) length(text, bare string) (quantity.Length, string) {
	if l, ok := s.simple(text, bare); ok {
		return l, ""
	}
	key := lengthText{text, bare}
	read, ok := s.seen[key]
	if !ok {
		if len(s.seen) >= maxSeen {
			clear(s.seen)
		}
		read = s.read(text, bare)
		s.seen[lengthText{strings.Clone(text), strings.Clone(bare)}] = read
	}
	return read.length, read.code
}

// simple reads what most cells hold, digits with a decimal mark or none and one
// unit, as quantity does but faster; ok is false for everything else, and where
// the value is not a whole number of nanometres.
func (s *scale) simple(text, bare string) (l quantity.Length, ok bool) {
	mark := byte('.')
	if s.comma {
		mark = ','
	}
	var n, scale quantity.Length = 0, 1
	i, point := 0, -1
	for ; i < len(text) && i < 12; i++ {
		if c := text[i]; c >= '0' && c <= '9' {
			n = 10*n + quantity.Length(c-'0')
			if point >= 0 {
				scale *= 10
			}
		} else if c == mark && point < 0 {
			point = i
		} else {
			break
		}
	}
	unit := strings.TrimLeft(text[i:], " ")
	if unit == "" {
		unit = bare
	}
	one := s.one(unit)
	if i == 0 || point == 0 || point == i-1 || i == 12 || one == 0 || one > quantity.Metre || n > 1_000_000_000 || n*one%scale != 0 {
		return 0, false
	}
	return n * one / scale, true
}

func (s *scale) read(text, bare string) lengthRead {
	l, err := quantity.ParseLength(text, quantity.Reading{DecimalComma: s.comma, Bare: bare})
	if err == nil {
		return lengthRead{length: l}
	}
	if _, err := quantity.ParseLength(text, quantity.Reading{DecimalComma: s.comma, Bare: "in"}); err == nil {
		return lengthRead{code: "unit"}
	}
	if _, err := quantity.ParseLength(text, quantity.Reading{DecimalComma: !s.comma, Bare: "in"}); err == nil {
		if s.comma {
			return lengthRead{code: "decimal_point"}
		}
		return lengthRead{code: "decimal_comma"}
	}
	return lengthRead{code: "length"}
}

// one returns one of the unit that word names, or 0.
func (s *scale) one(word string) quantity.Length {
	if l, ok := s.units[word]; ok {
		return l
	}
	if letters := strings.TrimSuffix(word, "."); letters == "" || wordLength(letters) != len(letters) {
		return 0 // "1 ft 6 in" is a length too, and no unit
	}
	l, err := quantity.ParseLength("1 "+word, quantity.Reading{})
	if err != nil {
		l = 0
	}
	if len(s.units) < 1000 {
		s.units[strings.Clone(word)] = l
	}
	return l
}

// cut splits a length off the front of s: a number with its fraction, its unit,
// and after feet the inches. What follows is left in rest; the last unit word
// is returned, empty when the number is bare.
func (s *scale) cut(text string) (length, unit, rest string) {
	text = strings.TrimSpace(text)
	at := numberEnd(text)
	if at == 0 {
		return "", "", text
	}
	unit, end := s.unitAt(text, at)
	if end == at {
		return strings.TrimSpace(text[:at]), "", text[at:]
	}
	if s.one(unit) == quantity.Foot {
		if more := end + numberEnd(text[end:]); more > end {
			if small, smallEnd := s.unitAt(text, more); s.one(small) == quantity.Inch {
				unit, end = small, smallEnd
			}
		}
	}
	return text[:end], unit, text[end:]
}

// unitAt returns the unit word at or after place at, and where it ends; at
// itself when there is none.
func (s *scale) unitAt(text string, at int) (string, int) {
	begin := at + len(text[at:]) - len(strings.TrimLeftFunc(text[at:], unicode.IsSpace))
	end := begin + wordLength(text[begin:])
	word := text[begin:end]
	if word == "" || s.one(word) == 0 {
		return "", at
	}
	if strings.HasPrefix(text[end:], ".") && s.one(word+".") != 0 {
		end++
	}
	return word, end
}

// wordLength returns the length of the run of letters, or of tape marks (' and
// "), that s begins with.
func wordLength(s string) int {
	is := unicode.IsLetter
	if first, _ := utf8.DecodeRuneInString(s); isMark(first) {
		is = isMark
	}
	if n := strings.IndexFunc(s, func(r rune) bool { return !is(r) }); n >= 0 {
		return n
	}
	return len(s)
}

func isMark(r rune) bool {
	return r == '"' || r == '\'' || r > 0x7f && strings.ContainsRune(`′″’”`, r)
}

// numberEnd returns where the number at the front of s ends: digits, a decimal
// mark between digits, a fraction, or a whole number with a fraction after it
// ("9 1/2", "9-1/2"). A sign before it is taken along so that it can be
// complained about.
func numberEnd(s string) int {
	i := len(s) - len(strings.TrimLeftFunc(s, unicode.IsSpace))
	if strings.HasPrefix(s[i:], "-") || strings.HasPrefix(s[i:], "+") {
		i++
	}
	end := tokenEnd(s, i)
	if end == i {
		return 0
	}
	if isFraction(s[i:end]) {
		return end
	}
	next := len(s) - len(strings.TrimLeftFunc(s[end:], unicode.IsSpace))
	if next == end && strings.HasPrefix(s[end:], "-") {
		next++
	}
	if stop := tokenEnd(s, next); stop > next && isFraction(s[next:stop]) {
		return stop
	}
	return end
}

// tokenEnd returns where the run of digits, marks and slashes at i ends; a mark
// at its end does not belong to it.
func tokenEnd(s string, i int) int {
	end := i
	for j, r := range s[i:] {
		switch {
		case r >= '0' && r <= '9', isVulgar(r):
			end = i + j + utf8.RuneLen(r)
		case r == '.' || r == ',' || r == '/' || r == '⁄':
		default:
			return end
		}
	}
	return end
}

func isFraction(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool { return r == '/' || r == '⁄' || isVulgar(r) })
}

func isVulgar(r rune) bool { return r > 0x7f && strings.ContainsRune("¼½¾⅛⅜⅝⅞⅓⅔", r) }

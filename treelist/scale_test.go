package treelist

import (
	"encoding/csv"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// The short cut of scale must give what quantity gives, for every text.
func TestSimpleAgreesWithQuantity(t *testing.T) {
	part := rapid.SampledFrom([]string{
		"1", "7", "96", "0", "00", "12.5", "12,5", ".5", "5.", "1/2", "½", "6", "123456789", "99999999999999", "0.0000001", "3.333",
		" ", " ", "in", "in.", "ft", "ft.", "'", "\"", "''", "cm", "mm", "m", "inch", "IN", "Cm", "M", "MM", "pie", "kg", "-", "+", "km", "nm", "[in_i]", "x", ".", ",",
	})
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(part, 0, 6).Draw(t, "parts"), "")
		bare := rapid.SampledFrom([]string{"", "in", "cm"}).Draw(t, "bare")
		comma := rapid.Bool().Draw(t, "comma")
		want, err := quantity.ParseLength(text, quantity.Reading{DecimalComma: comma, Bare: bare})
		got, code := newScale(comma).length(text, bare)
		if (err == nil) != (code == "") || got != want {
			t.Fatalf("%q bare %q comma %v: %d %q, quantity has %d %v", text, bare, comma, got, code, want, err)
		}
	})
}

func TestCut(t *testing.T) {
	for text, want := range map[string][3]string{
		"22 in 2024-05-10": {"22 in", "in", " 2024-05-10"},
		"48 in 2023":       {"48 in", "in", " 2023"},
		"48 2023":          {"48", "", " 2023"},
		"9 1/2":            {"9 1/2", "", ""},
		"9½in canker":      {"9½in", "in", " canker"},
		"2 ft 3 in crack":  {"2 ft 3 in", "in", " crack"},
		"2 ft 2023":        {"2 ft", "ft", " 2023"},
		"8' 2\" x":         {"8' 2\"", "\"", " x"},
		"8'2\"":            {"8'2\"", "\"", ""},
		"12-16 in canker":  {"12", "", "-16 in canker"},
		"12cm-16cm":        {"12cm", "cm", "-16cm"},
		"12 to 16 in":      {"12", "", " to 16 in"},
		"3 inside":         {"3", "", " inside"},
		"12.5 in. h":       {"12.5 in.", "in", " h"},
		"12, then":         {"12", "", ", then"},
		"-3 in":            {"-3 in", "in", ""},
		"canker":           {"", "", "canker"},
		"":                 {"", "", ""},
		"1/2 in 1/4 in":    {"1/2 in", "in", " 1/4 in"},
		"1 m 5 cm":         {"1 m", "m", " 5 cm"},
	} {
		length, unit, rest := newScale(false).cut(text)
		if got := [3]string{length, unit, rest}; got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// What cut takes and leaves is the text again.
func TestCutLosesNothing(t *testing.T) {
	s := newScale(false)
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9½/., ]{0,6}(in|ft|'|"|cm|canker)?[-0-9 /]{0,5}(in|m)?.{0,4}`).Draw(t, "text")
		length, _, rest := s.cut(text)
		if squeezed(length+rest) != squeezed(text) {
			t.Fatalf("%q: %q and %q", text, length, rest)
		}
	})
}

func squeezed(s string) string { return strings.Join(strings.Fields(s), "") }

// Reference: encoding/csv of the Go standard library, as writer and as reader.
func TestSplitAgreesWithEncodingCSV(t *testing.T) {
	cell := rapid.StringOf(rapid.SampledFrom([]rune("ab \",;\t½\n")))
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOfN(cell, 2, 6).Draw(t, "cells")
		sep := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "separator")
		var b strings.Builder
		w := csv.NewWriter(&b)
		w.Comma = sep
		if err := w.Write(want); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		got, state := split(strings.TrimSuffix(b.String(), "\n"), byte(sep), nil)
		if state != closed || fmt.Sprintf("%q", got) != fmt.Sprintf("%q", want) {
			t.Fatalf("%q: %q (%d), want %q", b.String(), got, state, want)
		}
	})
	outside.Ran(t, "Go encoding/csv", "rows in three separators")
}

// The usual textbook examples of edit distance (from memory).
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"flaw", "lawn", 2}, {"", "dbh", 3}, {"dbh", "", 3}, {"naïve", "naive", 1}} {
		if got := distance(c.a, c.b); got != c.want {
			t.Errorf("%q %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
	outside.Ran(t, "textbook edit distances (from memory)", "six pairs")
}

// The last day of a month or year, by the Gregorian calendar.
func TestLastDay(t *testing.T) {
	for text, want := range map[string]string{
		"2024-05-10": "2024-05-10", "2024-02": "2024-02-29", "2023-02": "2023-02-28", "1900-02": "1900-02-28",
		"2000-02": "2000-02-29", "2024-12": "2024-12-31", "2023": "2023-12-31",
		"2023-02-29": "", "2023-13": "", "23": "", "10/5/2024": "", "2024-5-10": "", "1066": "", "0000": "", "2024-05-1O": "", "": "",
	} {
		got, _, ok := lastDay(text)
		if ok != (want != "") || ok && got.Format("2006-01-02") != want {
			t.Errorf("%q: %v %v, want %q", text, got, ok, want)
		}
	}
	outside.Ran(t, "Gregorian calendar", "last days of months and years")
}

// The set against a plain map.
func TestTags(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		set, plain := newTags(), map[string]int{}
		for i, tag := range rapid.SliceOfN(rapid.StringMatching(`[ab]{0,6}`), 0, 300).Draw(t, "tags") {
			first, again := set.add(tag, i)
			want, seen := plain[tag]
			if again != seen || again && first != want {
				t.Fatalf("%q: %d %v, want %d %v", tag, first, again, want, seen)
			}
			if !seen {
				plain[tag] = i
			}
		}
	})
	set := newTags()
	for i := range 5000 { // past several growths
		set.add(fmt.Sprint(i), i)
	}
	for i := range 5000 {
		if first, again := set.add(fmt.Sprint(i), -1); !again || first != i {
			t.Fatal(i, first, again)
		}
	}
}

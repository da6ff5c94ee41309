package label

import (
	"slices"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Check reports what is wrong with the data of a label: what is missing, what
// contradicts itself, what no tree could meet, and what looks like a slip of the
// pen. Place is the path of json names, such as "rate.classes[1].from".
//
// A block means the label plans nothing. A figure of zero counts as not stated,
// so one missing figure is reported once and not again by every comparison.
func Check(l Label) []why.Finding {
	c := &checker{}
	c.identity(l)
	c.classification(l)
	c.hosts(l.Hosts)
	c.pests(l)
	c.unit(l.Unit)
	c.rate(l)
	c.ceilings(l)
	c.hole(l)
	c.conditions(l.Conditions)
	c.people(l)
	return c.found
}

// checker gathers findings in the order of the label.
type checker struct{ found []why.Finding }

func (c *checker) add(code string, sev why.Severity, source why.Source, place string, terms ...why.Term) {
	c.found = append(c.found, why.Finding{Code: code, Severity: sev, Place: place, Terms: terms, Source: source})
}

// fault reports a contradiction within the label, which blocks.
func (c *checker) fault(code, place string, terms ...why.Term) {
	c.add(code, why.Block, why.TheLabel, place, terms...)
}

// doubt reports what a careful reader would look at again.
func (c *checker) doubt(code, place string, terms ...why.Term) {
	c.add(code, why.Warn, why.TheLabel, place, terms...)
}

// need reports a statement without which nothing can be planned.
func (c *checker) need(place string, stated bool) {
	if !stated {
		c.fault("label.missing", place)
	}
}

// wish reports a statement that people rely on in the field.
func (c *checker) wish(place string, stated bool) {
	if !stated {
		c.doubt("label.not_stated", place)
	}
}

// positive reports a stated figure below zero; zero counts as not stated.
func (c *checker) positive(place string, negative bool, value any) {
	if negative {
		c.fault("label.not_positive", place, why.T("value", value))
	}
}

// accept reports a word that is not in the list; an empty word is not stated.
func (c *checker) accept(place, word string, accepted ...string) bool {
	if word == "" || slices.Contains(accepted, word) {
		return true
	}
	c.fault("label.not_accepted", place, why.T("value", word), why.T("accepted", strings.Join(accepted, ", ")))
	return false
}

// likely reports a length outside what the trade uses. It catches a wrong unit
// or a lost decimal point, so the bands are wide.
func (c *checker) likely(place string, value, low, high quantity.Length) {
	if value > 0 && (value < low || value > high) {
		c.unlikely(place, value, low, high)
	}
}

// unlikely says that a figure lies outside the wide bands of common practice,
// which are this project's own.
func (c *checker) unlikely(place string, value, low, high any) {
	c.add("label.unlikely", why.Warn, why.Own, place, why.T("value", value), why.T("low", low), why.T("high", high))
}

// ordered reports a band whose lower end is above its upper end.
func (c *checker) ordered(place string, low, high quantity.Length) {
	if low > 0 && high > 0 && low > high {
		c.fault("label.range_reversed", place, why.T("low", low), why.T("high", high))
	}
}

// warmth reports a band of temperatures that is reversed.
func (c *checker) warmth(place string, low, high *quantity.Temperature) {
	if low != nil && high != nil && *low > *high {
		c.fault("label.range_reversed", place, why.T("low", *low), why.T("high", *high))
	}
}

// at names the i-th element of a list, and a field of it when given.
func at(list string, i int, field string) string {
	place := list + "[" + strconv.Itoa(i) + "]"
	if field != "" {
		place += "." + field
	}
	return place
}

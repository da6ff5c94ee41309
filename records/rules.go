package records

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strings"
	"time"

	"sapwell/engine/quantity"
)

// test is one question about a record that decides whether something binds. All
// questions of a list must be answered with yes. A fact that is absent is not
// anything: "is" fails, "is_not" holds, "below" fails.
type test struct {
	Field Field    `json:"field"`
	Is    any      `json:"is,omitempty"`
	IsNot any      `json:"is_not,omitempty"`
	Below *float64 `json:"below,omitempty"`
}

func (t test) holds(r Record) bool {
	fact := r.fact(t.Field)
	switch {
	case t.Is != nil:
		return fact == t.Is
	case t.IsNot != nil:
		return fact != t.IsNot
	}
	f, ok := number(fact)
	return ok && f < *t.Below
}

// check: a fact is compared with a text or a truth; one question at a time.
func (t test) check() error {
	asked := 0
	for _, v := range []any{t.Is, t.IsNot} {
		switch v.(type) {
		case nil:
		case bool, string:
			asked++
		default:
			return fmt.Errorf("when: %s: want true, false or a text", t.Field)
		}
	}
	if t.Below != nil {
		asked++
	}
	if t.Field == "" || asked != 1 {
		return fmt.Errorf("when: %q: want a field and one of is, is_not, below", t.Field)
	}
	return nil
}

func holds(tests []test, r Record) bool {
	for _, t := range tests {
		if !t.holds(r) {
			return false
		}
	}
	return true
}

// format is how a fact must look where it is present.
type format struct {
	Field   Field   `json:"field"`
	Form    form    `json:"form,omitempty"`
	Pattern pattern `json:"pattern,omitzero"`
	Says    Said    `json:"says"`
}

// form is a shape that a pattern cannot tell.
type form string

const (
	aDay     form = "day"    // 2026-05-12, in the calendar
	aMoment  form = "moment" // RFC 3339, with offset; the day alone will do
	anAmount form = "amount" // {value > 0, unit}
	aCount   form = "count"  // a whole number, 0 or more
	aStage   form = "stage"  // two digits as a text, or a whole number of at most two
)

func (f *form) UnmarshalText(b []byte) error {
	switch *f = form(b); *f {
	case aDay, aMoment, anAmount, aCount, aStage:
		return nil
	}
	return fmt.Errorf("%q: want day, moment, amount, count or stage", b)
}

// pattern is a regular expression (RE2) that the whole text must match.
type pattern struct{ *regexp.Regexp }

func (p pattern) IsZero() bool { return p.Regexp == nil }

func (p *pattern) UnmarshalText(b []byte) (err error) {
	p.Regexp, err = regexp.Compile("^(?:" + string(b) + ")$")
	return err
}

// broken reports whether the fact is present and not as it must look.
func (f format) broken(r Record) bool {
	fact := r.fact(f.Field)
	if empty(fact) {
		return false
	}
	text, isText := fact.(string)
	switch f.Form {
	case aDay:
		_, ok := day(fact)
		return !ok || len(text) != len(time.DateOnly)
	case aMoment:
		_, ok := day(fact)
		return !ok
	case anAmount:
		value, _, ok := r.Amount(f.Field)
		return !ok || !(value > 0)
	case aCount:
		return !isWhole(fact, math.MaxInt64)
	case aStage:
		digits := strings.Trim(text, "0123456789") == ""
		return !isWhole(fact, 99) && !(isText && digits && len(text) == 2)
	}
	return !isText || f.Pattern.Regexp != nil && !f.Pattern.MatchString(text)
}

// isWhole reports whether a fact is a whole number from 0 to most.
func isWhole(fact any, most int64) bool {
	n, ok := fact.(json.Number)
	whole, err := n.Int64()
	return ok && err == nil && whole >= 0 && whole <= most
}

// day is the day of a fact that is a day or a moment, as it was where it was told.
func day(fact any) (quantity.Date, bool) {
	text, _ := fact.(string)
	if len(text) < len(time.DateOnly) { // most often there is nothing
		return quantity.Date{}, false
	}
	if len(text) > len(time.DateOnly) {
		if _, err := time.Parse(time.RFC3339, text); err != nil {
			return quantity.Date{}, false
		}
		text = text[:len(time.DateOnly)]
	}
	d, err := quantity.ParseDate(text)
	return d, err == nil
}

func (r Record) day(f Field) (quantity.Date, bool) { return day(r.fact(f)) }

// order is two days of which the first must not come after the second, or two
// numbers that must be the same.
type order struct {
	First  Field   `json:"first,omitempty"`
	Then   Field   `json:"then,omitempty"`
	Same   []Field `json:"same,omitempty"`
	Report Field   `json:"report"`
	Says   Said    `json:"says"`
}

func (o order) broken(r Record) bool {
	if len(o.Same) > 0 {
		a, okA := number(r.fact(o.Same[0]))
		b, okB := number(r.fact(o.Same[1]))
		return okA && okB && a != b
	}
	first, ok := r.day(o.First)
	then, too := r.day(o.Then)
	return ok && too && first.After(then)
}

// limit is a least size of one fact, or of two either way round.
type limit struct {
	Fields  []Field   `json:"fields"`
	AtLeast []float64 `json:"at_least"` // one for each, the smaller first
	Report  Field     `json:"report"`
	Says    Said      `json:"says"`
	When    []test    `json:"when,omitempty"`
}

// broken looks only at facts that are there.
func (l limit) broken(r Record) bool {
	var facts []float64
	for _, f := range l.Fields {
		fact := r.fact(f)
		if empty(fact) {
			continue
		}
		n, ok := number(fact)
		if !ok || n < l.AtLeast[0] {
			return true
		}
		facts = append(facts, n)
	}
	return len(facts) == 2 && max(facts[0], facts[1]) < l.AtLeast[1]
}

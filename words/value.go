package words

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// texter is every type of package quantity.
type texter interface {
	Text(quantity.Style) string
}

// speaker is what says itself in a language.
type speaker interface {
	In(lang string) string
}

// Value prints one value of a Term in the person's units, with as many digits
// as it deserves. What is nil, empty or a nil pointer is "not known"; a string
// is translated if the catalogue has "value.<string>"; a pair, or a struct with
// Low and High, is a range; a slice is a list.
func (p *Printer) Value(v any) string {
	r := reflect.ValueOf(v)
	if !r.IsValid() || r.Kind() == reflect.Pointer && r.IsNil() {
		return p.Say("value.not_known")
	}
	if r.Kind() == reflect.Pointer {
		return p.Value(r.Elem().Interface())
	}
	switch v := v.(type) {
	case texter:
		return v.Text(p.Style)
	case speaker:
		return v.In(p.Lang)
	case quantity.Date:
		return p.date(v)
	case why.Source:
		return p.Source(v)
	case why.Severity:
		return p.Say("severity." + string(v))
	case fmt.Stringer:
		return p.word(v.String())
	}
	return p.byKind(r)
}

// byKind prints values of types this package does not know by name.
func (p *Printer) byKind(v reflect.Value) string {
	switch v.Kind() {
	case reflect.String:
		return p.word(v.String())
	case reflect.Float32, reflect.Float64:
		return p.float(v.Float())
	case reflect.Bool:
		if v.Bool() {
			return p.Say("value.yes")
		}
		return p.Say("value.no")
	case reflect.Array, reflect.Slice:
		return p.several(v)
	case reflect.Struct:
		return p.spread(v)
	}
	return fmt.Sprint(v.Interface()) // whole numbers
}

// several prints a pair as a range and the rest as a list.
func (p *Printer) several(v reflect.Value) string {
	if v.Kind() == reflect.Array && v.Len() == 2 {
		return p.between(v.Index(0).Interface(), v.Index(1).Interface())
	}
	if v.Len() == 0 {
		return p.Say("value.none")
	}
	var list []string
	for i := range v.Len() {
		list = append(list, p.Value(v.Index(i).Interface()))
	}
	// With a decimal comma a list of numbers needs another mark between them.
	if p.Style.DecimalComma {
		return strings.Join(list, "; ")
	}
	return strings.Join(list, ", ")
}

// between prints a range; a range of one value is that value.
func (p *Printer) between(low, high any) string {
	a, b := p.Value(low), p.Value(high)
	if a == b {
		return a
	}
	return p.Say("value.range", why.T("low", low), why.T("high", high))
}

// spread prints a struct with Low and High, and Likely if it has one.
func (p *Printer) spread(v reflect.Value) string {
	low, high, likely := v.FieldByName("Low"), v.FieldByName("High"), v.FieldByName("Likely")
	if !low.IsValid() || !high.IsValid() {
		return fmt.Sprint(v.Interface())
	}
	between := p.between(low.Interface(), high.Interface())
	if !likely.IsValid() || low.Equal(high) {
		return between
	}
	return p.Say("value.likely", why.T("likely", likely.Interface()), why.T("between", between))
}

// word prints a string, translated where the catalogue knows it.
func (p *Printer) word(s string) string {
	if s == "" {
		return p.Say("value.not_known")
	}
	if key := "value." + s; p.has(key) {
		return p.Say(key)
	}
	return s
}

// date prints the day as year-month-day, which no reader takes for another.
func (p *Printer) date(t quantity.Date) string {
	if t.IsZero() {
		return p.Say("value.not_known")
	}
	return t.String()
}

// float prints three digits that count, or all digits before the mark if there
// are more.
func (p *Printer) float(f float64) string {
	if math.IsNaN(f) || math.IsInf(f, 0) {
		return p.Say("value.not_known")
	}
	places := 0
	if f != 0 {
		places = min(max(2-int(math.Floor(math.Log10(math.Abs(f)))), 0), 12)
	}
	s := strconv.FormatFloat(f, 'f', places, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		s = "0"
	}
	if p.Style.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

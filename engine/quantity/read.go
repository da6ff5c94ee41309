package quantity

import (
	"fmt"
	"math/big"
	"strings"
	"unicode"
)

// Reading is how a person's numbers are to be taken.
type Reading struct {
	DecimalComma bool   // "2,44" is two and 44 hundredths and "2.44" is refused; false: the reverse
	Bare         string // unit of a number without one, e.g. "in"; "" refuses such numbers
}

// ParseError says what could not be read and what would be accepted.
type ParseError struct {
	Text string // as it was written
	Kind string // "length", "volume" ...
	Want string // what would be accepted
}

// Error is one English line.
func (e *ParseError) Error() string {
	return fmt.Sprintf("%s %q: want %s", e.Kind, e.Text, e.Want)
}

// maxText is more than anyone writes for one measure and keeps big numbers small.
const maxText = 64

// reader walks over one text. It holds the whole grammar:
//
//	measure = ["-" | "+"] part {["-"] part}      parts of one chain, larger first
//	part    = number unit | inches after "'" without their mark
//	number  = digits [mark digits] | mark digits | [digits (" " | "-")] digits "/" digits
//	rate    = measure ("/" | "per" | "por") [number] unit
type reader struct {
	kind  *kind
	in    Reading
	text  string // as written
	rest  string // tidied, still to be read
	prime bool   // the last unit was a "'"
	fault string // what would have been accepted; "": nothing wrong yet
}

func newReader(k *kind, s string, in Reading) *reader {
	r := &reader{kind: k, in: in, text: s}
	if len(s) > maxText {
		r.text = s[:maxText] + "..."
		r.fail(k.want)
		return r
	}
	r.rest = tidy(s)
	return r
}

// fail records the first fault.
func (r *reader) fail(want string) {
	if r.fault == "" {
		r.fault = want
	}
}

func (r *reader) err() error {
	if r.fault == "" && r.rest != "" {
		r.fault = r.kind.want
	}
	if r.fault == "" {
		return nil
	}
	return &ParseError{Text: strings.ToValidUTF8(r.text, "�"), Kind: r.kind.name, Want: r.fault}
}

// take consumes the literal if it stands next.
func (r *reader) take(literal string) bool {
	rest, ok := strings.CutPrefix(r.rest, literal)
	if ok {
		r.rest = rest
	}
	return ok
}

// measure reads a whole signed measure in parts or SI units, not yet rounded.
func (r *reader) measure() *big.Rat {
	negative := r.take("-")
	if !negative {
		r.take("+")
	}
	r.take(" ")
	value, last := r.part(nil)
	for r.fault == "" && last != nil && r.another() {
		var more *big.Rat
		if more, last = r.part(last); more != nil {
			value.Add(value, more)
		}
	}
	if r.fault != "" {
		return nil
	}
	if negative {
		value = last.negate(value)
	}
	if r.kind.floor != "" && value.Sign() < 0 {
		r.fail(r.kind.floor)
	}
	return value
}

// another reports whether one more part of the measure follows and skips what
// joins it: 8 ft 2 in, 8'-2".
func (r *reader) another() bool {
	rest := strings.TrimPrefix(strings.TrimPrefix(r.rest, " "), "-")
	if rest == "" || !isDigit(rest[0]) {
		r.take(" ")
		return false
	}
	r.rest = rest
	return true
}

// part reads one number with its unit. before is the unit of the part to the
// left, nil at the start.
func (r *reader) part(before *unit) (*big.Rat, *unit) {
	n, whole := r.number()
	if n == nil {
		return nil, nil
	}
	u := r.unit(before)
	if u == nil {
		return nil, nil
	}
	value := u.of(n)
	if before != nil {
		r.checkChain(before, u, value)
	}
	if !whole {
		// What follows a fraction is not a smaller part: 8.5 ft 2 in is a slip.
		return value, &unit{num: u.num, den: u.den, offset: u.offset}
	}
	return value, u
}

// checkChain refuses 2 in 8 ft, 8 ft 14 in and 2 m 3 in.
func (r *reader) checkChain(before, u *unit, value *big.Rat) {
	limit := big.NewRat(before.num, before.den)
	if before.chain == 0 || before.chain != u.chain || value.Cmp(limit) >= 0 {
		r.fail("whole larger units first and less than one of them after, such as 8 ft 2 in or 1 h 20 min")
	}
}

// unit reads the unit, or takes the one that a bare number has.
func (r *reader) unit(before *unit) *unit {
	r.take(" ")
	if u, n := r.kind.match(r.rest); u != nil {
		r.prime = r.rest[:n] == "'"
		r.rest = r.rest[n:]
		return u
	}
	if before != nil && r.prime && r.rest == "" {
		return &unit{num: int64(Inch), den: 1, chain: before.chain}
	}
	bare := r.rest == "" && before == nil
	if bare && r.in.Bare != "" {
		if u, n := r.kind.match(tidy(r.in.Bare)); u != nil && n == len(tidy(r.in.Bare)) {
			return u
		}
	}
	r.fail(r.kind.want)
	return nil
}

// number reads a decimal, a fraction or a mixed number; whole reports that it
// was written as digits only.
func (r *reader) number() (n *big.Rat, whole bool) {
	digits := r.digits()
	if mark := r.mark(); mark {
		decimals := r.digits()
		if decimals == "" {
			r.fail(r.kind.want)
			return nil, false
		}
		return decimal(digits, decimals), false
	}
	if digits == "" || r.fault != "" {
		r.fail(r.kind.want)
		return nil, false
	}
	if den, ok := r.fraction(); ok {
		return r.over(nil, digits, den), false
	}
	if num, den, ok := r.mixed(); ok {
		return r.over(decimal(digits, ""), num, den), false
	}
	return decimal(digits, ""), true
}

// mark takes the decimal mark and refuses the other one.
func (r *reader) mark() bool {
	mark, other := ".", ","
	if r.in.DecimalComma {
		mark, other = other, mark
	}
	if len(r.rest) > 1 && strings.HasPrefix(r.rest, other) && isDigit(r.rest[1]) {
		r.fail(fmt.Sprintf("%q as the decimal mark and no mark between thousands", mark))
		return false
	}
	return r.take(mark)
}

// fraction takes "/8" and returns "8"; a slash with no digits after it is left
// for a rate.
func (r *reader) fraction() (den string, ok bool) {
	kept := r.rest
	if r.take("/") {
		if den = r.digits(); den != "" {
			return den, true
		}
	}
	r.rest = kept
	return "", false
}

// mixed takes " 1/2" or "-1/2" after whole digits.
func (r *reader) mixed() (num, den string, ok bool) {
	kept := r.rest
	if r.take(" ") || r.take("-") {
		if num = r.digits(); num != "" {
			if den, ok = r.fraction(); ok {
				return num, den, true
			}
		}
	}
	r.rest = kept
	return "", "", false
}

// over returns whole + num/den; whole nil: num/den, which may be above one.
func (r *reader) over(whole *big.Rat, num, den string) *big.Rat {
	d := decimal(den, "")
	if d.Sign() == 0 {
		r.fail("a fraction whose lower number is not zero")
		return nil
	}
	f := d.Quo(decimal(num, ""), d)
	if whole == nil {
		return f
	}
	if f.Cmp(big.NewRat(1, 1)) >= 0 {
		r.fail("a fraction below one after a whole number, such as 8 1/2")
		return nil
	}
	return f.Add(f, whole)
}

// digits takes the ASCII digits that stand next.
func (r *reader) digits() string {
	n := 0
	for n < len(r.rest) && isDigit(r.rest[n]) {
		n++
	}
	digits := r.rest[:n]
	r.rest = r.rest[n:]
	return digits
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

// decimal returns the number with these digits before and after the mark.
func decimal(digits, decimals string) *big.Rat {
	return new(big.Rat).SetFrac(natural(digits+decimals), tens(len(decimals)))
}

// tidy maps the many ways of typing the same sign to one, vulgar fractions to
// "n/d", and runs of space to one space; nothing at the ends.
func tidy(s string) string {
	var b strings.Builder
	for _, c := range s {
		switch c {
		case '′', '’', '‘', 'ʹ', '´', '`':
			b.WriteByte('\'')
		case '″', '”', '“', 'ʺ', '˝':
			b.WriteByte('"')
		case '−', '–', '‐', '‑':
			b.WriteByte('-')
		case '⁄', '∕':
			b.WriteByte('/')
		case 'º', '˚':
			b.WriteRune('°')
		case 'μ': // Greek letter for the micro sign
			b.WriteRune('µ')
		default:
			if f := vulgar(c); f != "" {
				b.WriteString(" " + f + " ")
			} else if unicode.IsSpace(c) {
				b.WriteByte(' ')
			} else {
				b.WriteRune(c)
			}
		}
	}
	joined := strings.Join(strings.Fields(b.String()), " ")
	return strings.ReplaceAll(strings.ReplaceAll(joined, "''", `"`), "- ", "-")
}

// vulgar returns a vulgar fraction as "n/d", or "".
func vulgar(c rune) string {
	switch c {
	case '¼':
		return "1/4"
	case '½':
		return "1/2"
	case '¾':
		return "3/4"
	case '⅛':
		return "1/8"
	case '⅜':
		return "3/8"
	case '⅝':
		return "5/8"
	case '⅞':
		return "7/8"
	case '⅓':
		return "1/3"
	case '⅔':
		return "2/3"
	}
	return ""
}

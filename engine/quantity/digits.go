package quantity

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"
)

// Exact numbers as digits and back. math/big has all of this, with powers, roots and
// floats of any size behind it: a phone would load them for nothing.

// chunk is how many decimal digits are taken at a time: so many fit an int64.
const chunk = 18

// tens is ten to the power of n.
func tens(n int) *big.Int {
	power := big.NewInt(1)
	for ; n > 0; n -= chunk {
		part := int64(1)
		for range min(n, chunk) {
			part *= 10
		}
		power.Mul(power, big.NewInt(part))
	}
	return power
}

// natural is the number that has these decimal digits, and no other signs.
func natural(digits string) *big.Int {
	n := new(big.Int)
	for len(digits) > 0 {
		part := digits[:min(chunk, len(digits))]
		digits = digits[len(part):]
		value, _ := strconv.ParseInt(part, 10, 64) // its digits fit
		n.Mul(n, tens(len(part))).Add(n, big.NewInt(value))
	}
	return n
}

// digitsOf are the decimal digits of n, which is not below zero.
func digitsOf(n *big.Int) string {
	var digits string
	unit := tens(chunk)
	for !n.IsInt64() {
		quotient, rest := new(big.Int).QuoRem(n, unit, new(big.Int))
		n, digits = quotient, fmt.Sprintf("%0*d", chunk, rest.Int64())+digits
	}
	return strconv.FormatInt(n.Int64(), 10) + digits
}

// halfUp is num/den rounded to a whole number, halves up; neither is below zero.
func halfUp(num, den *big.Int) *big.Int {
	twice := new(big.Int).Lsh(num, 1)
	twice.Add(twice, den) // 2n + d
	return twice.Quo(twice, new(big.Int).Lsh(den, 1))
}

// fixed writes r with so many decimals, rounded to the nearest, halves away from zero.
func fixed(r *big.Rat, places int) string {
	size := new(big.Int).Abs(r.Num())
	digits := digitsOf(halfUp(size.Mul(size, tens(places)), r.Denom()))
	digits = strings.Repeat("0", max(0, places+1-len(digits))) + digits
	if r.Sign() < 0 {
		digits = "-" + digits
	}
	if places == 0 {
		return digits
	}
	point := len(digits) - places
	return digits[:point] + "." + digits[point:]
}

// significant writes r, which is not zero, with so many digits that count; what is far
// from one gets an exponent.
func significant(r *big.Rat, count int) string {
	size := new(big.Rat).Abs(r)
	exponent := len(digitsOf(size.Num())) - len(digitsOf(size.Denom()))
	shift := new(big.Rat).SetInt(tens(max(exponent, -exponent)))
	if exponent < 0 {
		shift.Inv(shift)
	}
	if size.Quo(size, shift).Cmp(big.NewRat(1, 1)) < 0 {
		exponent--
		size.Mul(size, big.NewRat(10, 1))
	}
	digits := fixed(size, count-1)
	if strings.HasPrefix(digits, "10") { // rounded up
		exponent++
		digits = "1"
	}
	if -4 <= exponent && exponent < count {
		return trimmed(fixed(r, max(0, count-1-exponent)), Style{})
	}
	if r.Sign() < 0 {
		digits = "-" + digits
	}
	return fmt.Sprintf("%se%+03d", trimmed(digits, Style{}), exponent)
}

// numeral reads a number as JSON writes it; nil where it is none.
func numeral(s string) *big.Rat {
	s, negative := strings.CutPrefix(s, "-")
	mantissa, power, raised := strings.Cut(strings.ToLower(s), "e")
	digits, decimals, _ := strings.Cut(mantissa, ".")
	exponent, err := strconv.Atoi(power)
	if digits == "" || strings.Trim(digits+decimals, "0123456789") != "" || raised && err != nil {
		return nil
	}
	n, shift := natural(digits+decimals), exponent-len(decimals)
	if negative {
		n.Neg(n)
	}
	if shift < 0 {
		return new(big.Rat).SetFrac(n, tens(-shift))
	}
	return new(big.Rat).SetInt(n.Mul(n, tens(shift)))
}

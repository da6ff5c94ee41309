package quantity

import (
	"math"
	"math/big"
	"math/bits"
)

// nearest rounds r to a whole number, halves away from zero, and reports
// whether the result fits an int64.
func nearest(r *big.Rat) (int64, bool) {
	n := halfUp(new(big.Int).Abs(r.Num()), r.Denom())
	if r.Sign() < 0 {
		n.Neg(n)
	}
	return n.Int64(), n.IsInt64()
}

// mulDiv returns a*b/c rounded to the nearest whole number, halves away from
// zero, over a 128-bit product. A result beyond int64 becomes the greatest or
// least int64, and so does a division by zero or less unless a*b is 0: an
// amount too large to be true is caught by every ceiling, a wrapped one by none.
func mulDiv(a, b, c int64) int64 {
	if a == 0 || b == 0 {
		return 0
	}
	negative := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	if c <= 0 || hi >= uint64(c) { // bits.Div64 wants hi < c
		return saturated(negative)
	}
	q, rem := bits.Div64(hi, lo, uint64(c))
	if q > math.MaxInt64 {
		return saturated(negative)
	}
	if rem >= uint64(c)-rem { // 2*rem >= c
		q++
	}
	if q > math.MaxInt64 {
		return saturated(negative)
	}
	if negative {
		return -int64(q)
	}
	return int64(q)
}

// magnitude returns |x|, also of the least int64.
func magnitude(x int64) uint64 {
	if x < 0 {
		return -uint64(x)
	}
	return uint64(x)
}

func saturated(negative bool) int64 {
	if negative {
		return math.MinInt64
	}
	return math.MaxInt64
}

package price

import (
	"fmt"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
)

// Cents is money in hundredths of a currency, which stands elsewhere.
type Cents int64

// BasisPoints is a share in hundredths of a percent: 825 is 8.25 %.
type BasisPoints int64

// Text is the amount for a person: "1,234.50", or "1.234,50" with a decimal
// comma.
func (c Cents) Text(st quantity.Style) string {
	point, group := ".", ","
	if st.DecimalComma {
		point, group = ",", "."
	}
	sign, n := "", uint64(c)
	if c < 0 {
		sign, n = "-", -n
	}
	whole := strconv.FormatUint(n/100, 10)
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + group + whole[i:]
	}
	return fmt.Sprintf("%s%s%s%02d", sign, whole, point, n%100)
}

// Plain is the amount for a file: "1234.50".
func (c Cents) Plain() string { return strings.ReplaceAll(c.Text(quantity.Style{}), ",", "") }

// Text is the share for a person: "8.25 %".
func (b BasisPoints) Text(st quantity.Style) string {
	s := Cents(b).Text(st)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".,") + " %"
}

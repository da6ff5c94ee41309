package stock

import (
	"math"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Check reports what speaks against using a lot on a day:
//
//   - lot.expired (block): the day is after the last good day;
//   - lot.expiry_unknown (ask): the last good day is not known, or today is not;
//   - lot.storage_out_of_range (block): the log was colder or warmer than the
//     label's storage range. A figure on the limit is inside.
//
// A lot without a log, or a label without a range, is not checked for storage.
func Check(l Lot, s label.Storage, day quantity.Date) []why.Finding {
	var fs []why.Finding
	switch {
	case l.Expires.IsZero() || day.IsZero():
		fs = append(fs, finding("lot.expiry_unknown", why.Ask, l))
	case day.After(l.Expires):
		fs = append(fs, finding("lot.expired", why.Block, l,
			why.T("expires", l.Expires), why.T("date", day)))
	}
	if l.Coldest != nil && s.Min != nil && milli(*l.Coldest) < milli(*s.Min) {
		fs = append(fs, outOfRange(l, *l.Coldest, *s.Min))
	}
	if l.Warmest != nil && s.Max != nil && milli(*l.Warmest) > milli(*s.Max) {
		fs = append(fs, outOfRange(l, *l.Warmest, *s.Max))
	}
	return fs
}

func finding(code string, severity why.Severity, l Lot, terms ...why.Term) why.Finding {
	return why.Finding{
		Code: code, Severity: severity, Place: l.ID, Source: why.TheLabel,
		Terms: append([]why.Term{why.T("lot", l.ID)}, terms...),
	}
}

// outOfRange names the logged temperature and the limit it is beyond.
func outOfRange(l Lot, logged, limit quantity.Temperature) why.Finding {
	return finding("lot.storage_out_of_range", why.Block, l,
		why.T("temperature", logged), why.T("storage_limit", limit))
}

// milli is t in whole millikelvin. Temperatures are floats that may have come
// from degrees Fahrenheit; a thousandth of a degree is finer than any log, so
// figures that read the same compare as the same.
func milli(t quantity.Temperature) int64 { return int64(math.Round(float64(t) * 1000)) }

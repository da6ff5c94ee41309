package verdict

import (
	"slices"

	"sapwell/engine/stock"
	"sapwell/engine/why"
)

// lotRules: are the units fit to be used?
func lotRules() []Rule {
	return []Rule{
		{Code: "lot.*", Source: why.TheLabel, Check: lotFaults},
		{Code: "lot.none", Source: why.TheLabel, Open: true, Check: lotNone},
		{Code: "lot.no_log", Source: why.TheLabel, Open: true, Check: lotNoLog},
	}
}

// ours are the lots of this label; a lot that names none is taken for one.
func ours(c Case) []stock.Lot {
	return slices.DeleteFunc(slices.Clone(c.Lots), func(l stock.Lot) bool {
		return l.Label != "" && l.Label != c.Label.ID
	})
}

// lotFaults passes on what the stock check finds, unless the day is not known.
func lotFaults(c Case) []why.Finding {
	if c.Date.IsZero() {
		return nil
	}
	var fs []why.Finding
	for _, l := range ours(c) {
		fs = append(fs, stock.Check(l, c.Label.Storage, c.Date)...)
	}
	return fs
}

func lotNone(c Case) []why.Finding {
	if len(ours(c)) == 0 {
		return report(why.Ask, "lots")
	}
	return nil
}

// lotNoLog: a storage range nobody logged against cannot be shown to be kept.
func lotNoLog(c Case) []why.Finding {
	s := c.Label.Storage
	var fs []why.Finding
	for _, l := range ours(c) {
		if s.Min != nil && l.Coldest == nil || s.Max != nil && l.Warmest == nil {
			fs = append(fs, report(why.Ask, l.ID, why.T("lot", l.ID))...)
		}
	}
	return fs
}

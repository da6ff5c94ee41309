package treelist

import (
	"io"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
)

// The columns of a list of lots.
const (
	lLot column = iota
	lLabel
	lSize
	lUnits
	lExpires
	lColdest
	lWarmest
)

var lotHeadings = []heading{
	lLot:     {name: "lot", also: "lot_no batch", required: true},
	lLabel:   {name: "label", also: "label_id", required: true},
	lSize:    {name: "size", also: "fill volume", ends: volumeEnds, required: true},
	lUnits:   {name: "units", also: "count", required: true},
	lExpires: {name: "expires", also: "expiry expiry_date", required: true},
	lColdest: {name: "coldest", also: "min_temperature", ends: temperatureEnds},
	lWarmest: {name: "warmest", also: "max_temperature", ends: temperatureEnds},
}

// maxLots bounds a store; a list beyond it is cut with a fault.
const maxLots = 100_000

// ReadLots reads a list of lots, as a table like that of the trees with the
// columns lot, label, size, units, expires, coldest and warmest. It returns the
// lots of the good rows in their order, and a *Fault for each thing that is
// wrong with the others; another error is one of reading r and ends the list.
func ReadLots(name string, r io.Reader) ([]stock.Lot, []error) {
	t, err := openTable(name, r, lotHeadings)
	if err != nil {
		return nil, []error{err}
	}
	errs := t.opening
	var lots []stock.Lot
	first := make(map[lotKey]int)
	for n := 0; t.usable; n++ {
		rec, err := t.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return lots, append(errs, err)
		}
		if n == maxLots {
			return lots, append(errs, newFault(name, rec.line, "", "", "lots_many", "most", strconv.Itoa(maxLots)))
		}
		if rec.fault != nil {
			errs = append(errs, rec.fault)
			continue
		}
		f := faults{file: name}
		lot := f.lot(t, rec)
		key := lotKey{lot.ID, lot.Label, lot.Size}
		if line, again := first[key]; again && len(f.list) == 0 {
			f.add(t.cell(rec, lLot), lot.ID, "lot_again", "first", lineText(line))
		}
		if len(f.list) == 0 {
			lots, first[key] = append(lots, lot), rec.line
		}
		for _, one := range f.list {
			errs = append(errs, one)
		}
	}
	return lots, errs
}

// lotKey tells lots apart: the same number may be on units of two sizes.
type lotKey struct {
	id, label string
	size      quantity.Volume
}

// lot reads one row.
func (f *faults) lot(t *table, rec record) stock.Lot {
	var lot stock.Lot
	if c := t.cell(rec, lLot); f.need(c) {
		lot.ID = f.text(c, 64)
	}
	if c := t.cell(rec, lLabel); f.need(c) {
		lot.Label = f.text(c, 100)
	}
	if c := t.cell(rec, lSize); f.need(c) {
		lot.Size = f.volume(c, t.comma)
	}
	if c := t.cell(rec, lUnits); f.need(c) {
		lot.Units = f.count(c)
	}
	if c := t.cell(rec, lExpires); f.need(c) {
		last, _, ok := lastDay(c.text)
		if lot.Expires = last; !ok || len(c.text) == len("2027") {
			f.add(c, c.text, "expiry")
		}
	}
	cold, warm := t.cell(rec, lColdest), t.cell(rec, lWarmest)
	lot.Coldest, lot.Warmest = f.temperature(cold, t.comma), f.temperature(warm, t.comma)
	if lot.Coldest != nil && lot.Warmest != nil && *lot.Warmest < *lot.Coldest {
		f.add(warm, warm.text, "cold_warm", "other", cold.text)
	}
	return lot
}

func (f *faults) volume(c cell, comma bool) quantity.Volume {
	v, err := quantity.ParseVolume(c.text, quantity.Reading{DecimalComma: comma, Bare: c.unit})
	if err != nil || v <= 0 {
		f.add(c, c.text, "volume")
	}
	return v
}

func (f *faults) count(c cell) int {
	n, err := strconv.Atoi(strings.TrimSpace(c.text))
	if err != nil || n < 0 || n > 1_000_000 {
		f.add(c, c.text, "count")
	}
	return n
}

// temperature reads what a store's log showed; empty: there is no log.
func (f *faults) temperature(c cell, comma bool) *quantity.Temperature {
	if c.text == "" {
		return nil
	}
	v, err := quantity.ParseTemperature(c.text, quantity.Reading{DecimalComma: comma, Bare: c.unit})
	if err != nil || v < quantity.Celsius(-90) || v > quantity.Celsius(90) {
		f.add(c, c.text, "temperature")
		return nil
	}
	return &v
}

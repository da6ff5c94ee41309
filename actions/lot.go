package actions

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// stockDeeds keep labels and lots.
func stockDeeds() []Deed {
	keeper := []entries.Role{entries.Office, entries.Applicator}
	return []Deed{
		deed("label.add", []entries.Role{entries.Office}, addLabel),
		deed("lot.add", keeper, addLot),
		deed("lot.update", keeper, updateLot),
		deed("lot.move", keeper, moveLot),
	}
}

type lotAdd struct {
	Label    string                `json:"label" doc:"name of the label"`
	Number   string                `json:"number" doc:"as printed on the pack"`
	Size     quantity.Volume       `json:"size" doc:"liquid in one full unit"`
	Expires  quantity.Date         `json:"expires,omitzero" doc:"last good day"`
	Supplier string                `json:"supplier,omitempty" doc:"where it came from"`
	Coldest  *quantity.Temperature `json:"coldest,omitempty" doc:"what the store's log showed"`
	Warmest  *quantity.Temperature `json:"warmest,omitempty" doc:"what the store's log showed"`
	Units    int                   `json:"units,omitempty" doc:"how many came in with it"`
}

// addLot writes a lot, and the units that came in with it.
func addLot(d *desk, in lotAdd) (Made, error) {
	if err := d.sold(in.Label, in.Size); err != nil {
		return Made{}, err
	}
	if err := d.newLot(in); err != nil {
		return Made{}, err
	}
	if in.Units < 0 {
		return Made{}, badValue("input.value", "units", fmt.Sprint(in.Units), "want how many came in, 0 or more")
	}
	id, err := d.write(entries.Lot{
		Head: d.now(), Label: in.Label, Number: in.Number, Size: int64(in.Size), Expires: in.Expires,
		Supplier: in.Supplier, Coldest: millikelvin(in.Coldest), Warmest: millikelvin(in.Warmest),
	})
	if err == nil && in.Units > 0 {
		_, err = d.write(entries.Stock{Head: d.now(), Lot: id, Units: in.Units, Sort: "received"})
	}
	return Made{id}, err
}

// sold refuses a lot of a label that is not here, or of a size that no version
// of it names.
func (d *desk) sold(name string, size quantity.Volume) error {
	versions, err := d.labelsNamed(name)
	if err != nil {
		return err
	}
	if len(versions) == 0 {
		return refuse(NotFound, "label.unknown", "label", fmt.Sprintf("label: there is no label %q; add its label file first", name), why.T("label", name))
	}
	var sizes []string
	for _, v := range versions {
		l, err := d.labelOf(v)
		if err != nil {
			return err
		}
		if slices.Contains(l.Unit.Fills, size) {
			return nil
		}
		for _, f := range l.Unit.Fills {
			sizes = append(sizes, fmt.Sprintf("%v mL", f.Millilitres()))
		}
	}
	slices.Sort(sizes)
	return refuse(BadInput, "lot.size", "size",
		fmt.Sprintf("size: %v mL: want a size of the label: %s", size.Millilitres(), strings.Join(slices.Compact(sizes), ", ")),
		why.T("size", size), why.T("label", name))
}

// newLot refuses a lot that is here: of the same label, number and size, for a
// maker may number two sizes alike.
func (d *desk) newLot(in lotAdd) error {
	return d.lotsOf(in.Label, func(l *views.Lot) error {
		if l.Facts.Number != in.Number || l.Facts.Size != int64(in.Size) {
			return nil
		}
		return refuse(Conflict, "lot.here", "number", fmt.Sprintf("number: lot %s of %s is here already; move units into it", in.Number, in.Label),
			why.T("lot", in.Number), why.T("label", in.Label))
	})
}

// lotsOf shows the lots of a label, the first to expire first.
func (d *desk) lotsOf(name string, show func(*views.Lot) error) error {
	return each(d, entries.OfLot, name+"|", name+"|~", show)
}

type lotUpdate struct {
	Lot      journal.ID            `json:"lot" doc:"which"`
	Expires  *quantity.Date        `json:"expires,omitempty" doc:"last good day"`
	Supplier *string               `json:"supplier,omitempty" doc:"where it came from"`
	Coldest  *quantity.Temperature `json:"coldest,omitempty" doc:"what the store's log showed"`
	Warmest  *quantity.Temperature `json:"warmest,omitempty" doc:"what the store's log showed"`
}

// updateLot brings what is learnt of a lot later: what the store's log showed.
func updateLot(d *desk, in lotUpdate) (Made, error) {
	l, err := d.lot(in.Lot, "lot")
	if err != nil {
		return Made{}, err
	}
	b := l.Facts
	b.Head, b.Lot, b.Over = d.now(), in.Lot, l.FactsBy
	set(&b.Expires, in.Expires)
	set(&b.Supplier, in.Supplier)
	if in.Coldest != nil {
		b.Coldest = millikelvin(in.Coldest)
	}
	if in.Warmest != nil {
		b.Warmest = millikelvin(in.Warmest)
	}
	return d.made(b)
}

type lotMove struct {
	Lot   journal.ID `json:"lot" doc:"which"`
	Sort  string     `json:"sort" enum:"received,returned,discarded,sold,counted" doc:"what happened; returned is back into the store, counted a stocktaking"`
	Units int        `json:"units" doc:"how many; for counted what there is"`
	At    int64      `json:"at,omitempty" doc:"when it happened, where not now; ms since 1970"`
	Store string     `json:"store,omitempty" doc:"which store"`
	Cents int64      `json:"cents,omitempty" doc:"paid for them, in hundredths"`
	Money string     `json:"money,omitempty" doc:"currency, three capitals, ISO 4217"`
	Note  string     `json:"note,omitempty" doc:"anything else"`
}

type lotMoved struct {
	ID     journal.ID `json:"id"`
	OnHand int        `json:"on_hand"` // after it, by the book
}

// moveLot writes units coming, going or counted. It never refuses because the
// book says otherwise: the book is wrong then, and that is told.
func moveLot(d *desk, in lotMove) (lotMoved, error) {
	l, err := d.lot(in.Lot, "lot")
	if err != nil {
		return lotMoved{}, err
	}
	head, err := d.head(in.At)
	if err != nil {
		return lotMoved{}, err
	}
	if in.Units < 0 || in.Units == 0 && in.Sort != "counted" {
		return lotMoved{}, badValue("input.value", "units", fmt.Sprint(in.Units), "want how many, without a sign")
	}
	units, after := in.Units, l.OnHand+in.Units
	switch in.Sort {
	case "discarded", "sold":
		units, after = -in.Units, l.OnHand-in.Units
	case "counted":
		after = in.Units
	}
	terms := []why.Term{why.T("lot", l.Facts.Number), why.T("on_hand", l.OnHand), why.T("units", in.Units)}
	switch {
	case after < 0:
		d.note(why.Finding{Code: "lot.more_than_there", Severity: why.Warn, Place: "units", Source: why.Own, Terms: terms})
	case in.Sort == "counted" && after != l.OnHand:
		d.note(why.Finding{Code: "lot.counted_other", Severity: why.Warn, Place: "units", Source: why.Own, Terms: terms})
	}
	id, err := d.write(entries.Stock{
		Head: head, Lot: in.Lot, Units: units, Sort: in.Sort, Store: in.Store, Cents: in.Cents, Money: in.Money, Note: in.Note,
	})
	return lotMoved{id, after}, err
}

// onHand are the lots of a label with units left, as the engine wants them.
func (d *desk) onHand(name string) (lots []stock.Lot, err error) {
	err = d.lotsOf(name, func(l *views.Lot) error {
		if l.OnHand > 0 {
			lots = append(lots, stock.Lot{
				ID: l.Facts.Number, Label: l.Facts.Label, Size: quantity.Volume(l.Facts.Size), Units: l.OnHand,
				Expires: l.Facts.Expires, Coldest: kelvin(l.Facts.Coldest), Warmest: kelvin(l.Facts.Warmest),
			})
		}
		return nil
	})
	return lots, err
}

func millikelvin(t *quantity.Temperature) *int64 {
	if t == nil {
		return nil
	}
	mk := int64(math.Round(float64(*t) * 1000))
	return &mk
}

package actions

import (
	"maps"
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
)

// Needs are the units that a plan asks of the stock; none for a tree that must
// not be treated.
func (p Plan) Needs() []stock.Need {
	if !p.Go() {
		return nil
	}
	units := map[quantity.Volume]int{}
	for _, s := range p.Stems {
		for _, f := range s.Dose.Fills {
			units[f.Size] += f.Units
		}
	}
	var needs []stock.Need
	for _, size := range slices.Sorted(maps.Keys(units)) {
		needs = append(needs, stock.Need{For: p.Tag, Label: p.Label, Size: size, Units: units[size]})
	}
	return needs
}

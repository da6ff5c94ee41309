package actions

import "sapwell/engine/stock"

// Needs are the units that a plan asks of the stock, for each stem by its own
// name, so that a stem's sheet can say its lots; none for a tree that must not be
// treated.
func (p Plan) Needs() []stock.Need {
	if !p.Go() {
		return nil
	}
	var needs []stock.Need
	for _, s := range p.Stems {
		for _, f := range s.Dose.Fills {
			needs = append(needs, stock.Need{For: p.StemTag(s), Label: p.Label, Size: f.Size, Units: f.Units})
		}
	}
	return needs
}

// StemTag names a stem: the tree's tag, and the stem's own name where it has one.
func (p Plan) StemTag(s StemPlan) string {
	if s.Name == "" {
		return p.Tag
	}
	return p.Tag + "/" + s.Name
}

package label

import (
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

func (c *checker) ceilings(l Label) {
	k := l.Ceilings
	c.wish("ceilings.per_application", k.PerApplication != 0)
	c.positive("ceilings.per_application", k.PerApplication < 0, k.PerApplication)
	c.positive("ceilings.per_year", k.PerYear < 0, k.PerYear)
	c.positive("ceilings.ai_per_year", k.AIPerYear < 0, k.AIPerYear)
	c.positive("ceilings.ai_per_hectare_year", k.AIPerAreaYear < 0, k.AIPerAreaYear)
	c.positive("ceilings.applications_per_year", k.Applications < 0, k.Applications)
	c.positive("ceilings.interval_days", k.IntervalDays < 0, k.IntervalDays)
	c.positive("ceilings.min_diameter", k.MinDiameter < 0, k.MinDiameter)
	c.likely("ceilings.min_diameter", k.MinDiameter, quantity.Centimetre, quantity.Metre)
	c.underUnit("ceilings.per_application", k.PerApplication, l.Unit)
	c.underUnit("ceilings.per_year", k.PerYear, l.Unit)
	if k.PerApplication > 0 && k.PerYear > 0 && k.PerYear < k.PerApplication {
		c.doubt("label.year_under_application", "ceilings.per_year", why.T("value", k.PerYear), why.T("most", k.PerApplication))
	}
	if k.Applications > 1 && k.IntervalDays > 365/(k.Applications-1) {
		c.doubt("label.interval_conflict", "ceilings.interval_days", why.T("days", k.IntervalDays), why.T("applications", k.Applications))
	}
	c.rowsOver(l)
}

// smallest returns the smallest fill, or 0 when none is stated.
func (u UnitSpec) smallest() quantity.Volume {
	if len(u.Fills) == 0 {
		return 0
	}
	return slices.Min(u.Fills)
}

// underUnit reports a ceiling that a single unit already passes.
func (c *checker) underUnit(place string, ceiling quantity.Volume, u UnitSpec) {
	if fill := u.smallest(); ceiling > 0 && fill > ceiling {
		c.fault("label.ceiling_under_unit", place, why.T("value", ceiling), why.T("size", fill))
	}
}

// rowsOver reports rows of a table that no tree of their class could be given
// under the ceiling.
func (c *checker) rowsOver(l Label) {
	most := l.Ceilings.PerApplication
	if most <= 0 {
		return
	}
	fill := l.Unit.smallest()
	for i, k := range l.Rate.Classes {
		// The count is divided into the ceiling: a product could overflow.
		if k.Total > most || k.Units > 0 && fill > most/quantity.Volume(k.Units) {
			c.doubt("label.class_over_ceiling", at("rate.classes", i, ""), why.T("most", most))
		}
	}
	if hole := l.Rate.PerHole; hole > most {
		c.fault("label.ceiling_under_hole", "ceilings.per_application", why.T("value", most), why.T("per_hole", hole))
	}
}

func (c *checker) hole(l Label) {
	h := l.Hole
	for _, f := range []struct {
		place     string
		value     quantity.Length
		low, high quantity.Length // wide bands of common practice
	}{
		{"hole.bit", h.Bit, 2 * quantity.Millimetre, 15 * quantity.Millimetre},
		{"hole.depth_min", h.DepthMin, 2 * quantity.Millimetre, 80 * quantity.Millimetre},
		{"hole.depth_max", h.DepthMax, 2 * quantity.Millimetre, 80 * quantity.Millimetre},
		{"hole.height_max", h.HeightMax, quantity.Centimetre, 2 * quantity.Metre},
	} {
		c.need(f.place, f.value != 0)
		c.positive(f.place, f.value < 0, f.value)
		c.likely(f.place, f.value, f.low, f.high)
	}
	c.positive("hole.height_min", h.HeightMin < 0, h.HeightMin)
	c.positive("hole.min_spacing", h.MinSpacing < 0, h.MinSpacing)
	c.ordered("hole.depth_min", h.DepthMin, h.DepthMax)
	c.ordered("hole.height_min", h.HeightMin, h.HeightMax)
	c.angle(h.Angle)
	c.apart(h, l.Rate)
	c.atMeasure(h, l.Rate)
}

// angle checks that the hole goes inward and not up. Beyond 60° the bit runs
// along the trunk more than into it.
func (c *checker) angle(a quantity.Angle) {
	const least, most = 0, 60 * quantity.Degree
	const slack = quantity.Degree / 1e6 // 60 typed in degrees must not fail by its last bit
	if !(a >= least-slack && a <= most+slack) {
		c.fault("label.angle_range", "hole.angle", why.T("value", a), why.T("low", quantity.Angle(least)), why.T("high", most))
	}
}

// apart checks that holes fit beside each other.
func (c *checker) apart(h Hole, r Rate) {
	if h.MinSpacing > 0 && h.Bit >= h.MinSpacing {
		c.fault("label.bit_over_spacing", "hole.bit", why.T("value", h.Bit), why.T("spacing", h.MinSpacing))
	}
	if r.Spacing > 0 && h.Bit >= r.Spacing {
		c.fault("label.bit_over_spacing", "hole.bit", why.T("value", h.Bit), why.T("spacing", r.Spacing))
	}
	if r.Spacing > 0 && h.MinSpacing > r.Spacing {
		c.fault("label.spacing_conflict", "hole.min_spacing", why.T("value", h.MinSpacing), why.T("spacing", r.Spacing))
	}
}

// atMeasure warns when holes are counted on one girth and drilled on another.
func (c *checker) atMeasure(h Hole, r Rate) {
	height := r.Measure.Height
	if r.Measure.What != "girth" || height <= 0 || h.HeightMax <= 0 {
		return
	}
	if height < h.HeightMin || height > h.HeightMax {
		c.doubt("label.hole_off_measure", "hole.height_min", why.T("height", height), why.T("low", h.HeightMin), why.T("high", h.HeightMax))
	}
}

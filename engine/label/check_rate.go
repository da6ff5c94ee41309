package label

import (
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// figure is one field of a rate, whether it is stated, the kinds that need it,
// and a kind that may do without.
type figure struct {
	place  string
	stated bool
	needed []RateKind
	may    RateKind
}

func (c *checker) rate(l Label) {
	r := l.Rate
	c.need("rate.kind", r.Kind != "")
	known := c.accept("rate.kind", string(r.Kind), string(BySpacing), string(ByDiameter), string(DosePerDia), string(ByClass), string(FixedPerHole))
	if known && r.Kind != "" {
		c.figures(r)
		c.measure(r)
		c.rounding(r, l.Unit)
	}
	c.positive("rate.spacing", r.Spacing < 0, r.Spacing)
	c.positive("rate.per_unit", r.PerUnit < 0, r.PerUnit)
	c.positive("rate.per_hole", r.PerHole < 0, r.PerHole)
	if v := r.Volume; v != nil {
		c.positive("rate.volume_per_diameter", v.Volume <= 0 || v.Per <= 0, *v)
	}
	if m := r.Mass; m != nil {
		c.positive("rate.mass_per_diameter", m.Mass <= 0 || m.Per <= 0, *m)
	}
	c.likely("rate.spacing", r.Spacing, 2*quantity.Centimetre, quantity.Metre)
	c.likely("rate.per_unit", r.PerUnit, quantity.Centimetre/2, quantity.Metre/2)
	c.table(r, l.Unit)
}

// figures reports figures the kind needs and lacks, and figures of another kind:
// whoever typed them may have meant that kind.
func (c *checker) figures(r Rate) {
	for _, f := range []figure{
		{"rate.spacing", r.Spacing != 0, []RateKind{BySpacing, FixedPerHole}, DosePerDia},
		{"rate.per_unit", r.PerUnit != 0, []RateKind{ByDiameter}, ""},
		{"rate.volume_per_diameter", r.Volume != nil || (r.Kind == DosePerDia && r.Mass != nil), []RateKind{DosePerDia}, ""},
		{"rate.mass_per_diameter", r.Mass != nil, nil, DosePerDia},
		{"rate.per_hole", r.PerHole != 0, []RateKind{FixedPerHole}, ""},
		{"rate.classes", len(r.Classes) > 0, []RateKind{ByClass}, ""},
		{"rate.readings", r.Readings != nil, nil, ByClass},
	} {
		switch {
		case slices.Contains(f.needed, r.Kind):
			c.need(f.place, f.stated)
		case f.stated && f.may != r.Kind:
			c.fault("label.other_kind", f.place, why.T("kind", string(r.Kind)))
		}
	}
	if r.Mass != nil && r.Volume != nil {
		c.fault("label.two_doses", "rate.mass_per_diameter")
	}
}

// measure checks what is measured. A girth is never silently a diameter, so a
// rule by girth must measure girth and a rule by diameter must name a diameter;
// a table may be printed for either.
func (c *checker) measure(r Rate) {
	accepted := []string{"diameter"}
	switch r.Kind {
	case BySpacing, FixedPerHole:
		accepted = []string{"girth"}
	case ByClass:
		accepted = []string{"girth", "diameter"}
	}
	c.need("rate.measure.what", r.Measure.What != "")
	c.accept("rate.measure.what", r.Measure.What, accepted...)
	c.need("rate.measure.height", r.Measure.Height != 0)
	c.positive("rate.measure.height", r.Measure.Height < 0, r.Measure.Height)
	c.likely("rate.measure.height", r.Measure.Height, 5*quantity.Centimetre, 2*quantity.Metre)
}

// rounding checks how a fraction of a unit is treated. Where a table has no
// fractions the label need not say; everything else needs the label's own word.
func (c *checker) rounding(r Rate, u UnitSpec) {
	if !c.accept("rate.rounding", string(r.Rounding), string(RoundUp), string(RoundDown), string(RoundNearest), string(Unspecified)) {
		return
	}
	fractions := func(k Class) bool {
		return k.Units == 0 && len(u.Fills) == 1 && u.Fills[0] > 0 && k.Total%u.Fills[0] != 0
	}
	needed := r.Kind != ByClass || slices.ContainsFunc(r.Classes, fractions)
	if needed && (r.Rounding == "" || r.Rounding == Unspecified) {
		c.fault("label.rounding_unspecified", "rate.rounding")
	}
}

// table checks that the rows of a class table tile without gap or overlap.
func (c *checker) table(r Rate, u UnitSpec) {
	c.readings(r.Readings)
	for i, k := range r.Classes {
		c.row(i, k, r.Readings)
		c.agrees(i, k, u)
		if i > 0 {
			c.joint(i, r.Classes[i-1], k, r.Readings)
		}
	}
}

func (c *checker) readings(s *Readings) {
	if s == nil {
		return
	}
	c.need("rate.readings.step", s.Step != 0)
	c.positive("rate.readings.step", s.Step < 0, s.Step)
	c.need("rate.readings.rounding", s.Rounding != "")
	c.accept("rate.readings.rounding", string(s.Rounding), string(RoundUp), string(RoundDown), string(RoundNearest))
}

func (c *checker) row(i int, k Class, s *Readings) {
	const list = "rate.classes"
	c.positive(at(list, i, "from"), k.From < 0, k.From)
	switch {
	case k.To == 0:
		c.need(at(list, i, "to"), false)
	case k.To < k.From:
		c.fault("label.range_reversed", at(list, i, "from"), why.T("low", k.From), why.T("high", k.To))
	case k.To == k.From && s == nil:
		c.fault("label.class_empty", at(list, i, "to"), why.T("value", k.To))
	}
	c.positive(at(list, i, "units"), k.Units < 0, k.Units)
	c.positive(at(list, i, "total"), k.Total < 0, k.Total)
	if k.Units == 0 && k.Total == 0 {
		c.fault("label.class_no_dose", at(list, i, ""))
	}
	c.likely(at(list, i, "to"), k.To, quantity.Centimetre, 5*quantity.Metre)
	if s != nil && s.Step > 0 {
		c.onStep(at(list, i, "from"), k.From, s.Step)
		c.onStep(at(list, i, "to"), k.To, s.Step)
	}
}

// agrees reports a row whose count and total no mix of the unit sizes can meet.
func (c *checker) agrees(i int, k Class, u UnitSpec) {
	if k.Units <= 0 || k.Total <= 0 || len(u.Fills) == 0 {
		return
	}
	each := k.Total / quantity.Volume(k.Units)
	left := k.Total % quantity.Volume(k.Units)
	if each < slices.Min(u.Fills) || each > slices.Max(u.Fills) || each == slices.Max(u.Fills) && left > 0 {
		c.fault("label.class_disagrees", at("rate.classes", i, "total"), why.T("value", k.Total), why.T("units", k.Units))
	}
}

// onStep reports a bound that no rounded reading can hit.
func (c *checker) onStep(place string, bound, step quantity.Length) {
	if bound%step != 0 {
		c.fault("label.class_off_step", place, why.T("value", bound), why.T("step", step))
	}
}

// joint checks where one row ends and the next starts. Rounded readings step
// from one row to the next; unrounded readings need rows that touch.
func (c *checker) joint(i int, lower, upper Class, s *Readings) {
	step := quantity.Length(0)
	if s != nil {
		step = s.Step
	}
	place := at("rate.classes", i, "from")
	switch {
	case lower.To == 0 || lower.To < lower.From: // reported by row
	case upper.From < lower.From:
		c.fault("label.table_order", place)
	case upper.From-lower.To < step:
		c.fault("label.table_overlap", place, why.T("low", upper.From), why.T("high", lower.To))
	case upper.From-lower.To > step:
		c.fault("label.table_gap", place, why.T("low", lower.To), why.T("high", upper.From))
	}
}

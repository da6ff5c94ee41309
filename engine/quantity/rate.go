package quantity

// A rate times a length or a volume is rounded to the nearest part (1 nL or
// 1 ng), halves away from zero, once, at the end. A result out of range
// saturates (see mulDiv). A rate with Per of zero is no rate: it gives 0 when
// its amount is 0 too, otherwise the saturated amount, never a quiet nothing.

// Over returns the volume that r gives over l, e.g. 2 mL/cm over 40 cm: 80 mL.
func (r VolumePerLength) Over(l Length) Volume {
	return Volume(mulDiv(int64(r.Volume), int64(l), int64(r.Per)))
}

// Over returns the mass that r gives over l, e.g. 0.2 g/in over 30 in: 6 g.
func (r MassPerLength) Over(l Length) Mass {
	return Mass(mulDiv(int64(r.Mass), int64(l), int64(r.Per)))
}

// In returns the mass that v holds, e.g. 40 g/L in 5 mL: 200 mg.
func (r MassPerVolume) In(v Volume) Mass {
	return Mass(mulDiv(int64(r.Mass), int64(v), int64(r.Per)))
}

// Holding returns the volume that holds m, e.g. 40 g/L holding 200 mg: 5 mL.
// Nothing holds a mass when r has none: the result saturates.
func (r MassPerVolume) Holding(m Mass) Volume {
	return Volume(mulDiv(int64(m), int64(r.Per), int64(r.Mass)))
}

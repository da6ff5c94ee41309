package entries

import (
	"encoding/json"

	"sapwell/journal"
)

// Check: see Body.
func (b Plan) Check() error {
	var c checker
	c.head(b.Head)
	c.id("tree", b.Tree)
	c.id("label", b.Label)
	c.id("measurement", b.Measurement)
	c.maybeLine("pest", b.Pest, nameLen)
	c.day("day", b.Day)
	c.oneOf("overall", b.Overall, "stop", "ask", "warn", "nothing_found")
	c.lines("findings", b.Findings)
	c.atMost("stems", len(b.Stems))
	for i, s := range b.Stems {
		c.item("stems", i, s.check())
	}
	c.line("engine", b.Engine, wordLen)
	if b.Full != "" {
		c.text("full", b.Full, fileLen, "\n\r\t")
		if !json.Valid([]byte(b.Full)) {
			c.fault("full", "%.40q, want JSON", b.Full)
		}
	}
	return c.err
}

func (s PlanStem) check() error {
	var c checker
	c.maybeLine("name", s.Name, wordLen)
	c.count("units", s.Units)
	c.volume("per_unit_nl", s.PerUnit)
	c.volume("total_nl", s.Total)
	c.atMost("marks_nm", len(s.Marks))
	for i, at := range s.Marks {
		var m checker
		m.within("", at, 0, maxGirth)
		c.item("marks_nm", i, m.err)
	}
	if len(s.Heights) > 0 && len(s.Heights) != len(s.Marks) {
		c.fault("heights_nm", "%d items, want one for each of %d marks", len(s.Heights), len(s.Marks))
	}
	for i, h := range s.Heights {
		var m checker
		m.within("", h, lowest, maxHeight)
		c.item("heights_nm", i, m.err)
	}
	c.within("stop_nm", s.Stop, 0, maxHole)
	c.within("bit_nm", s.Bit, 0, maxBit)
	c.within("depth_min_nm", s.DepthMin, 0, maxHole)
	c.within("depth_max_nm", s.DepthMax, 0, maxHole)
	if s.DepthMax != 0 {
		c.ordered("depth_min_nm", s.DepthMin, "depth_max_nm", s.DepthMax)
	}
	c.within("p50_ms", s.P50, 0, maxSpan)
	c.within("p90_ms", s.P90, 0, maxSpan)
	c.ordered("p50_ms", s.P50, "p90_ms", s.P90)
	return c.err
}

// Check: see Body.
func (b VisitOpened) Check() error {
	var c checker
	c.head(b.Head)
	c.id("grounds", b.Grounds)
	c.day("day", b.Day)
	c.id("certified", b.Certified)
	c.ids("crew", b.Crew)
	c.atMost("jobs", len(b.Jobs))
	for i, j := range b.Jobs {
		c.item("jobs", i, j.check())
	}
	if b.Weather != nil {
		c.part("weather", b.Weather.check())
	}
	c.lines("checks", b.Checks)
	return c.err
}

func (j Job) check() error {
	var c checker
	c.id("tree", j.Tree)
	c.id("plan", j.Plan)
	return c.err
}

func (w Weather) check() error {
	var c checker
	maybeWithin(&c, "air_mk", w.Air, coldest, warmest)
	maybeWithin(&c, "humidity_percent", w.Humidity, 0, 100)
	maybeWithin(&c, "wind_mm_s", w.Wind, 0, maxWind)
	c.answer("rain", w.Rain)
	return c.err
}

// Check: see Body.
func (b Hole) Check() error {
	var c checker
	c.head(b.Head)
	c.id("visit", b.Visit)
	c.id("tree", b.Tree)
	c.maybeLine("stem", b.Stem, wordLen)
	c.count("mark", b.Mark)
	c.within("at_nm", b.Around, 0, maxGirth)
	c.within("height_nm", b.Height, lowest, maxHeight)
	c.within("depth_nm", b.Depth, 0, maxHole)
	c.within("bit_nm", b.Bit, 0, maxBit)
	c.maybeID("again", b.Again)
	return c.err
}

// Check: see Body.
func (b UnitSeated) Check() error {
	var c checker
	c.head(b.Head)
	c.id("visit", b.Visit)
	c.id("hole", b.Hole)
	c.id("lot", b.Lot)
	c.within("fill_nl", b.Fill, 1, maxVolume)
	c.maybeID("again", b.Again)
	return c.err
}

// checkUnit is what all that happens to a unit has in common.
func checkUnit(h Head, visit, unit journal.ID) checker {
	var c checker
	c.head(h)
	c.id("visit", visit)
	c.id("unit", unit)
	return c
}

// Check: see Body.
func (b UnitPressurised) Check() error {
	c := checkUnit(b.Head, b.Visit, b.Unit)
	c.within("gauge_pa", b.Gauge, 0, maxGauge)
	return c.err
}

// Check: see Body.
func (b UnitDrained) Check() error { return checkUnit(b.Head, b.Visit, b.Unit).err }

// Check: see Body.
func (b UnitStuck) Check() error {
	c := checkUnit(b.Head, b.Visit, b.Unit)
	c.volume("left_nl", b.Left)
	c.maybeLine("why", b.Why, nameLen)
	return c.err
}

// Check: see Body.
func (b UnitLifted) Check() error {
	c := checkUnit(b.Head, b.Visit, b.Unit)
	c.volume("left_nl", b.Left)
	return c.err
}

// Check: see Body.
func (b UnitLost) Check() error {
	c := checkUnit(b.Head, b.Visit, b.Unit)
	c.line("why", b.Why, nameLen)
	c.line("signed", b.Signed, nameLen)
	return c.err
}

// Check: see Body.
func (b VisitClosed) Check() error {
	var c checker
	c.head(b.Head)
	c.id("visit", b.Visit)
	c.atMost("trees", len(b.Trees))
	for i, t := range b.Trees {
		c.item("trees", i, t.check())
	}
	c.line("signature.name", b.Signature.Name, nameLen)
	c.text("signature.meaning", b.Signature.Meaning, remarkLen, "\n\t")
	return c.err
}

func (t Treated) check() error {
	var c checker
	c.id("tree", t.Tree)
	c.id("label", t.Label)
	c.count("holes", t.Holes)
	c.count("units", t.Units)
	c.count("lifted", t.Lifted)
	c.count("lost", t.Lost)
	if t.Lifted+t.Lost > t.Units {
		c.fault("units", "%d, want at least those lifted and lost, %d", t.Units, t.Lifted+t.Lost)
	}
	c.volume("given_nl", t.Given)
	c.within("start", t.Start, 0, maxMoment)
	c.within("end", t.End, 0, maxMoment)
	c.ordered("start", t.Start, "end", t.End)
	return c.err
}

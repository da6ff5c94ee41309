package entries

// Check: see Body.
func (b Grounds) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("grounds", b.Grounds)
	c.over(b.Over, "grounds", b.Grounds)
	c.line("name", b.Name, nameLen)
	c.oneOf("context", b.Context, "amenity", "residential", "orchard", "nursery", "forest")
	c.maybeLine("client", b.Client, nameLen)
	c.remark("client_address", b.ClientAddress)
	c.maybeLine("operator", b.Operator, nameLen)
	c.remark("address", b.Address)
	c.maybeLine("zip", b.Zip, wordLen)
	if b.Country != "" {
		c.country("country", b.Country)
	}
	c.maybeLine("region", b.Region, nameLen)
	c.place("place", b.Place)
	c.remark("note", b.Note)
	return c.err
}

// Check: see Body.
func (b Tree) Check() error {
	var c checker
	c.head(b.Head)
	c.maybeID("tree", b.Tree)
	c.over(b.Over, "tree", b.Tree)
	c.id("grounds", b.Grounds)
	c.line("tag", b.Tag, wordLen)
	c.line("species", b.Species, nameLen)
	c.place("place", b.Place)
	c.remark("where", b.Where)
	c.remark("note", b.Note)
	return c.err
}

// Check: see Body.
func (b Measurement) Check() error {
	var c checker
	c.head(b.Head)
	c.id("tree", b.Tree)
	c.some("stems", len(b.Stems))
	for i, s := range b.Stems {
		c.item("stems", i, s.check())
	}
	return c.err
}

func (s Stem) check() error {
	var c checker
	c.maybeLine("name", s.Name, wordLen)
	c.part("girth", s.Girth.check())
	if s.Breast != nil {
		c.part("breast", s.Breast.check())
	}
	c.maybeLine("zero_face", s.ZeroFace, nameLen)
	c.atMost("arcs", len(s.Arcs))
	for i, a := range s.Arcs {
		c.item("arcs", i, a.check(s.Girth.Around))
	}
	c.atMost("fissures_nm", len(s.Fissures))
	for i, at := range s.Fissures {
		var f checker
		f.within("", at, 0, s.Girth.Around)
		c.item("fissures_nm", i, f.err)
	}
	c.atMost("bark", len(s.Bark))
	for i, k := range s.Bark {
		c.item("bark", i, k.check(s.Girth.Around))
	}
	return c.err
}

func (g Girth) check() error {
	var c checker
	c.within("around_nm", g.Around, 1, maxGirth)
	c.within("height_nm", g.Height, lowest, maxHeight)
	c.maybeOneOf("ground", g.Ground, "level", "uphill", "mid-slope")
	return c.err
}

func (a Arc) check(around int64) error {
	var c checker
	c.within("from_nm", a.From, 0, around)
	c.within("to_nm", a.To, 0, around)
	c.oneOf("sort", a.Sort, "defect", "dead-cambium", "canker", "cavity", "crack", "girdling-root")
	return c.err
}

func (k Bark) check(around int64) error {
	var c checker
	c.within("at_nm", k.At, 0, around)
	c.within("thick_nm", k.Thick, 0, maxHole)
	return c.err
}

// Check: see Body.
func (b Condition) Check() error {
	var c checker
	c.head(b.Head)
	c.id("tree", b.Tree)
	maybeWithin(&c, "canopy_loss_percent", b.CanopyLoss, 0, 100)
	c.maybeLine("pest", b.Pest, nameLen)
	c.lines("signs", b.Signs)
	maybeWithin(&c, "bbch", b.BBCH, 0, 99)
	c.answer("bloom_over", b.BloomOver)
	c.answer("eaten", b.Eaten)
	c.answer("tapped", b.Tapped)
	c.answer("drought", b.Drought)
	c.answer("live_wires", b.LiveWires)
	c.maybeOneOf("advice", b.Advice, "treat", "wait", "do-not-treat", "fell")
	c.remark("note", b.Note)
	return c.err
}

// Check: see Body.
func (b Wound) Check() error {
	var c checker
	c.head(b.Head)
	c.id("tree", b.Tree)
	c.maybeLine("stem", b.Stem, wordLen)
	c.within("at_nm", b.Around, 0, maxGirth)
	c.within("width_nm", b.Width, 0, maxGirth)
	c.within("height_nm", b.Height, lowest, maxHeight)
	c.maybeDay("made", b.Made)
	return c.err
}

// Check: see Body.
func (b Closure) Check() error {
	var c checker
	c.head(b.Head)
	c.id("tree", b.Tree)
	c.id("hole", b.Hole)
	c.oneOf("state", b.State, "open", "closing", "closed")
	c.within("width_nm", b.Width, 0, maxGirth)
	c.within("length_nm", b.Length, 0, maxHeight)
	c.lines("signs", b.Signs)
	return c.err
}

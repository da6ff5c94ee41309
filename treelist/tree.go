package treelist

import (
	"slices"
	"sort"
	"strings"

	"sapwell/engine/bole"
	"sapwell/engine/host"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
)

// builder turns rows into trees. It holds the rows of one tree at a time.
type builder struct {
	file    string
	o       Options
	scale   *scale
	species map[string]speciesRead // by the text of the cell
	tags    *tags
	yield   func(Row, error) bool
	stopped bool

	open bool // a tree is being gathered
	tree gathering
}

// speciesRead is what became of the text of a species cell.
type speciesRead struct {
	species host.Species
	near    string // names that were meant perhaps
	ok      bool
}

// gathering is a tree of which more rows may come.
type gathering struct {
	line   int
	tag    string
	merged row // what belongs to the tree, from the first row that says it
	stems  []bole.Stem
	faults faults
}

// maxStems is more than any tree treated stem by stem has.
const maxStems = 50

func newBuilder(file string, o Options, yield func(Row, error) bool) *builder {
	return &builder{
		file: file, o: o, yield: yield,
		scale: newScale(o.DecimalComma), species: make(map[string]speciesRead), tags: newTags(),
	}
}

// out hands a row or an error on and reports whether more is wanted.
func (b *builder) out(r Row, err error) bool {
	if !b.stopped && !b.yield(r, err) {
		b.stopped = true
	}
	return !b.stopped
}

// add takes one row.
func (b *builder) add(r *row) bool {
	tag := r.cells[cTag].text
	if b.open && tag != "" && tag == b.tree.tag && len(b.tree.stems) < maxStems {
		b.join(r)
		return !b.stopped
	}
	if tag == "" && b.open && r.cells[cStem].text != "" {
		// Most likely a further stem of the tree above, which is then not whole.
		b.tree.faults.need(r.cells[cTag])
		return !b.stopped
	}
	if !b.close() {
		return false
	}
	b.begin(r)
	return !b.stopped
}

// begin opens a tree with its first row.
func (b *builder) begin(r *row) {
	f := faults{file: b.file}
	if c := r.cells[cTag]; f.need(c) {
		if tag := f.text(c, 64); tag != "" {
			if first, again := b.tags.add(tag, r.line); again {
				f.add(c, tag, "tag_again", "first", lineText(first))
			}
		}
	}
	b.open = true
	b.tree = gathering{line: r.line, tag: r.cells[cTag].text, merged: *r, faults: f}
	b.tree.stems = append(b.tree.stems, b.stem(r, &b.tree.faults))
}

// join adds a further row of the open tree.
func (b *builder) join(r *row) {
	g := &b.tree
	stem := b.stem(r, &g.faults)
	for _, other := range g.stems {
		if other.Name == stem.Name {
			g.faults.add(r.cells[cStem], stem.Name, "stem_again", "tag", g.tag, "first", lineText(g.line))
			break
		}
	}
	g.stems = append(g.stems, stem)
	for i := firstOfTree; i < numColumns; i++ {
		have, now := &g.merged.cells[i], r.cells[i]
		switch {
		case now.text == "":
		case have.text == "":
			*have = now
		case !strings.EqualFold(have.text, now.text):
			g.faults.add(now, now.text, "conflict", "first", lineText(have.line), "other", have.text)
		}
	}
}

// torn notes that a row could not be read at all. When it may have been a stem
// of the open tree, that tree is not whole and must not be used.
func (b *builder) torn(f *Fault, tag string, known bool) bool {
	if b.open && known && tag == b.tree.tag {
		b.tree.faults.list = append(b.tree.faults.list, f)
		return !b.stopped
	}
	return b.close() && b.out(Row{}, f)
}

// close hands the open tree on: whole, or as the faults that spoil it.
func (b *builder) close() bool {
	if !b.open {
		return !b.stopped
	}
	b.open = false
	row := b.finish()
	list := b.tree.faults.list
	if len(list) == 0 {
		return b.out(row, nil)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].Line < list[j].Line })
	for _, f := range list {
		if !b.out(Row{}, f) {
			return false
		}
	}
	return true
}

// stem reads what a row says of its stem.
func (b *builder) stem(r *row, f *faults) bole.Stem {
	c := &r.cells
	s := bole.Stem{Name: f.text(c[cStem], 16)}
	ground := f.ground(c[cGround])
	ring := &s.Ring
	if f.need(c[cGirth]) {
		ring.Girth.Around = f.within(b.scale, c[cGirth], minGirth, maxGirth, "girth_range")
	}
	if f.need(c[cGirthHeight]) {
		ring.Girth.Height = f.within(b.scale, c[cGirthHeight], 1, maxHeight, "height_range")
	}
	ring.Girth.Ground = ground
	ring.Zero = bole.Zero{Face: f.text(c[cZero], 64), CounterClockwise: f.direction(c[cDirection])}
	girth := ring.Girth.Around
	ring.Arcs = f.defects(b.scale, c[cDefects], girth)
	ring.Wounds = f.wounds(b.scale, c[cWounds], girth, b.workDay(r))
	ring.Fissures = f.fissures(b.scale, c[cFissures], girth)
	s.Bark = f.bark(b.scale, c[cBark], girth)
	s.Breast = b.breast(c, f, ground)
	return s
}

// breast reads the second girth, taken with a tape or with a tape that shows
// diameters. Such a tape lies round the stem and shows girth/π, so a diameter
// stands for the girth it lay on. Whether the height is breast height is for
// bole and the label to ask.
func (b *builder) breast(c *[numColumns]cell, f *faults, ground bole.Ground) *bole.Girth {
	around, at := c[cGirth2], c[cGirth2Height]
	byDiameter := c[cDBH].text != "" || c[cDBHHeight].text != ""
	if byDiameter {
		if around.text != "" || at.text != "" {
			f.add(c[cDBH], c[cDBH].text, "both")
			return nil
		}
		around, at = c[cDBH], c[cDBHHeight]
	}
	if around.text == "" && at.text == "" {
		return nil
	}
	if !f.need(around) || !f.need(at) {
		return nil
	}
	height := f.within(b.scale, at, 1, maxHeight, "height_range")
	g := bole.Girth{Height: height}
	if byDiameter {
		g = bole.GirthFromDiameter(f.within(b.scale, around, minGirth/4, 14*quantity.Metre, "diameter_range"), height)
	} else {
		g.Around = f.within(b.scale, around, minGirth, maxGirth, "girth_range")
	}
	g.Ground = ground
	return &g
}

// workDay returns the day of work of a row, or of all rows; zero: not known.
func (b *builder) workDay(r *row) quantity.Date {
	if t, whole, ok := lastDay(r.cells[cDate].text); ok && whole {
		return t
	}
	return b.o.Defaults.Date
}

// finish reads what the rows say of the tree as a whole.
func (b *builder) finish() Row {
	g := &b.tree
	c, f := &g.merged.cells, &g.faults
	row := Row{Line: g.line, Facts: b.o.Defaults}
	row.Tree = bole.Tree{Tag: g.tag, Species: b.speciesOf(c[cSpecies], f), Stems: g.stems}
	row.Site, row.Note, row.Label = f.text(c[cSite], 200), f.text(c[cNote], 2000), f.text(c[cLabel], 100)
	facts := &row.Facts
	if p := f.percent(c[cCanopyLoss]); p != nil {
		facts.CanopyLoss = p
	}
	if s := f.stage(c[cBBCH]); s != nil {
		facts.BBCH = s
	}
	if t := f.text(c[cPest], 100); t != "" {
		facts.Pest = t
	}
	if t := f.text(c[cRegion], 40); t != "" {
		facts.Region = t
	}
	f.jurisdiction(c[cJurisdiction], &facts.Jurisdiction)
	f.answer(c[cBloomOver], &facts.BloomOver)
	f.answer(c[cEaten], &facts.Eaten)
	f.answer(c[cTapped], &facts.Tapped)
	f.answer(c[cDrought], &facts.Drought)
	f.answer(c[cLiveWires], &facts.LiveWires)
	crop := verdict.Unknown
	f.answer(c[cCrop], &crop)
	facts.Crop = crop == verdict.Yes || crop == verdict.Unknown && facts.Crop
	if c[cDate].text != "" {
		facts.Date = f.day(c[cDate], c[cDate].text)
	}
	facts.Earlier = append(slices.Clip(facts.Earlier), b.earlier(c[cLastTreated], f, facts.Date)...)
	return row
}

// maxSpecies bounds how many different texts of species cells are remembered.
const maxSpecies = 4096

// speciesOf looks the species up, once for each way it is written.
func (b *builder) speciesOf(c cell, f *faults) host.Species {
	if !f.need(c) {
		return host.Species{}
	}
	read, ok := b.species[c.text]
	if !ok {
		species, err := host.Lookup(c.text)
		read = speciesRead{species: species, ok: err == nil}
		if err != nil {
			read.near = near(err)
		}
		if len(b.species) < maxSpecies {
			b.species[strings.Clone(c.text)] = read
		}
	}
	if !read.ok && read.near == "" {
		f.add(c, c.text, "species")
	} else if !read.ok {
		f.add(c, c.text, "species_near", "near", read.near)
	}
	return read.species
}

// earlier reads "2024-06-10; emamectin benzoate; label; 64 mL | 2022-05-30".
func (b *builder) earlier(c cell, f *faults, work quantity.Date) []verdict.Application {
	if c.text == "" {
		return nil
	}
	var out []verdict.Application
	for _, item := range strings.Split(c.text, "|") {
		if item = strings.TrimSpace(item); item == "" {
			continue
		}
		a, ok := b.application(c, f, item, work)
		if ok {
			out = append(out, a)
		}
		if len(out) > 200 || len(f.list) > maxCellFaults {
			break
		}
	}
	return out
}

func (b *builder) application(c cell, f *faults, item string, work quantity.Date) (verdict.Application, bool) {
	parts := strings.Split(item, ";")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	var a verdict.Application
	before := len(f.list)
	if a.Date = f.day(c, parts[0]); !work.IsZero() && a.Date.After(work) {
		f.add(c, item, "future")
	}
	parts = parts[1:]
	if n := len(parts); n > 0 {
		v, err := quantity.ParseVolume(parts[n-1], quantity.Reading{DecimalComma: b.scale.comma})
		if err == nil {
			a.Total, parts = v, parts[:n-1]
		}
	}
	if len(parts) > 2 {
		f.add(c, item, "treatment")
		return a, false
	}
	if len(parts) > 0 && parts[0] != "" {
		for _, name := range strings.Split(parts[0], "+") {
			a.Active = append(a.Active, strings.ToLower(strings.TrimSpace(name)))
		}
	}
	if len(parts) > 1 {
		a.Label = parts[1]
	}
	return a, len(f.list) == before
}

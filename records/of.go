package records

import (
	"cmp"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"sapwell/engine/host"
	"sapwell/engine/label"
	"sapwell/engine/place"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// sheet is a record while it is written.
type sheet map[string]any

// put writes a fact unless it is empty; put again, a fact of more weight stays.
func (s sheet) put(f Field, fact any) {
	if !empty(fact) && empty(Record{facts: s}.fact(f)) {
		at := s
		name, rest, nested := strings.Cut(string(f), ".")
		for nested {
			inner, ok := at[name].(map[string]any)
			if !ok {
				inner = map[string]any{}
				at[name] = inner
			}
			at = inner
			name, rest, nested = strings.Cut(rest, ".")
		}
		at[name] = fact
	}
}

// record writes first what the journal says, then what somebody told for the
// record, then what follows from the rest. Nothing that was told stands in the
// place of what was done.
func (w *work) record() sheet {
	s := sheet{}
	s.put("as_of", w.Today.String())
	s.put("record.id", w.id())
	w.firm(s)
	w.place(s)
	w.trunk(s)
	w.product(s)
	w.gave(s)
	w.hands(s)
	w.vouched(s)
	w.waste(s)
	w.told(s)
	w.follows(s)
	return s
}

func (w *work) firm(s sheet) {
	o := w.Org.Facts
	s.put("business.id", w.Org.ID)
	s.put("business.name", o.Name)
	s.put("business.phone", o.Phone)
	s.put("business.reg_no", o.RegNo)
	if o.KeepYears > 0 {
		s.put("business.keep_years", scaled(int64(o.KeepYears), 0))
	}
}

func (w *work) place(s sheet) {
	g := w.Grounds.Facts
	s.put("client.name", g.Client)
	s.put("client.address", g.ClientAddress)
	s.put("property_operator.name", cmp.Or(g.Operator, g.Client))
	s.put("site.name", g.Name)
	s.put("site.context", g.Context)
	s.put("site.address", g.Address)
	s.put("site.zip", g.Zip)
	s.put("site.country", place.Code(cmp.Or(g.Country, w.Org.Facts.Country)))
	region := g.Region
	if g.Country == "" {
		region = cmp.Or(region, w.Org.Facts.Region)
	}
	s.put("site.region", region)
	where := w.tree.Facts.Place
	if where == nil {
		where = g.Place
	}
	if where != nil {
		s.put("site.geo", []any{scaled(where.Lon, 7), scaled(where.Lat, 7)})
	}
}

func (w *work) trunk(s sheet) {
	t := w.tree
	s.put("tree.id", t.Facts.Tag)
	s.put("tree.species", t.Facts.Species)
	if parts := slices.DeleteFunc([]string{w.Grounds.Facts.Name, t.Facts.Where}, isBlank); t.Facts.Tag != "" {
		s.put("site.location", strings.Join(append(parts, "tree "+t.Facts.Tag), ", "))
	}
	s.put("crop.name", t.Facts.Species)
	if kind, err := host.Lookup(t.Facts.Species); err == nil {
		s.put("crop.eppo", kind.Code.EPPO)
	}
	if c := t.Condition; c != nil && c.BBCH != nil {
		s.put("crop.bbch", fmt.Sprintf("%02d", *c.BBCH))
	}
	if m := t.Measurement; m != nil {
		w.girths(s, m.Facts.Stems)
	}
}

func isBlank(text string) bool { return strings.TrimSpace(text) == "" }

// girths: a tree of one stem has one girth; of several each is listed, for their
// sum is nobody's girth.
func (w *work) girths(s sheet, stems []entries.Stem) {
	var around, height []any
	for _, stem := range stems {
		around = append(around, w.length(stem.Girth.Around))
		height = append(height, w.length(stem.Girth.Height))
	}
	if len(stems) == 1 {
		s.put("tree.circumference", around[0])
		s.put("tree.measured_at_height", height[0])
		return
	}
	s.put("tree.circumference", around)
	s.put("tree.measured_at_height", height)
}

// length is in inches where people measure so, else in centimetres; what is no whole
// number of 64ths of an inch was measured in metric there too, and stays so: "90 cm"
// and not "35.4331 in".
func (w *work) length(nm int64) any {
	const inch = 25_400_000
	us := place.Code(cmp.Or(w.Grounds.Facts.Country, w.Org.Facts.Country)) == place.US
	if !us || nm*64%inch != 0 {
		return amount(scaled(nm, 7), "cm")
	}
	return amount(json.Number(strconv.FormatFloat(float64(nm)/inch, 'f', -1, 64)), "[in_i]")
}

func (w *work) product(s sheet) {
	l := w.version.Label
	s.put("product.name", cmp.Or(l.Product.Name, w.version.View.Facts.Product))
	s.put("product.reg_no", cmp.Or(l.Product.RegNo, w.version.View.Facts.RegNo))
	s.put("product.registrant", l.Product.Registrant)
	s.put("product.fictional", w.version.View.Facts.Fictional || l.Fictional)
	var contents []any
	for _, in := range l.Class.Ingredients {
		contents = append(contents, map[string]any{"name": in.Name})
	}
	s.put("product.ai", contents)
	var lots []string
	for _, lot := range w.lots {
		lots = append(lots, lot.Facts.Number)
	}
	s.put("product.lot", strings.Join(lots, ", "))
	if l.ID != "" {
		w.terms(s, l)
	}
	w.pest(s, l)
}

// terms are what the label says that a record or a notice has to bear.
func (w *work) terms(s sheet, l label.Label) {
	s.put("label.id", l.ID)
	s.put("label.version", l.Version.String())
	s.put("label.rup", l.Class.RestrictedUse)
	c := l.Conditions
	s.put("label.time_restricted", c.HoursFrom != "" || c.HoursTo != "")
	s.put("label.stage_restricted", c.BBCHFrom != 0 || c.BBCHTo != 0 || c.AfterPetalFall)
	s.put("label.re_entry", l.People.REI)
	if l.People.REIHours != nil {
		s.put("label.re_entry_hours", scaled(int64(*l.People.REIHours), 0))
	}
	s.put("food.tapping", l.Food.Tapping)
	s.put("food.pre_harvest_text", l.Food.PHIText)
	s.put("food.grazing", l.Food.Grazing)
	s.put("food.grazing_text", l.Food.GrazingText)
	if days := l.Food.GrazingDays; days != nil {
		s.put("food.grazing_days", scaled(int64(*days), 0))
		s.put("food.grazing_earliest", w.day.AddDate(0, 0, *days).String())
	}
	if days := l.Food.PHIDays; days != nil {
		s.put("food.pre_harvest_days", scaled(int64(*days), 0))
		s.put("food.harvest_earliest", w.day.AddDate(0, 0, *days).String())
	}
}

// pest is told by name where the label knows the code.
func (w *work) pest(s sheet, l label.Label) {
	pest := w.plan.Pest
	if c := w.tree.Condition; pest == "" && c != nil {
		pest = c.Pest
	}
	for _, p := range l.Pests {
		if strings.EqualFold(p.EPPO, pest) || strings.EqualFold(p.Name, pest) {
			s.put("target.pest", p.Name)
			s.put("target.eppo", p.EPPO)
		}
	}
	s.put("target.pest", pest)
}

// gave is what went into the tree and when.
func (w *work) gave(s sheet) {
	t := w.given
	s.put("date", w.day.String())
	if t.Start != 0 {
		s.put("time.start", w.at(t.Start).Format("15:04"))
	}
	if t.End != 0 {
		s.put("time.end", w.at(t.End).Format("15:04"))
	}
	s.put("holes.count", scaled(int64(t.Holes), 0))
	s.put("units.installed", scaled(int64(t.Units), 0))
	s.put("units.retrieved", scaled(int64(t.Lifted), 0))
	s.put("units.lost", scaled(int64(t.Lost), 0))
	s.put("amount.total", millilitres(t.Given))
	filled, left, all := int64(0), int64(0), true
	for _, u := range w.seated {
		filled += u.Fill
		if all = all && u.Left != nil; all {
			left += *u.Left
		}
	}
	if all && len(w.seated) > 0 {
		s.put("amount.left", amount(scaled(left, 6), "mL"))
	}
	s.put("amount.filled", millilitres(filled))
	if n := int64(len(w.seated)); n > 0 { // of unlike units the mean, to a thousandth of a millilitre
		each := filled / n
		if filled%n != 0 {
			each = (filled + n*500) / n / 1000 * 1000
		}
		if rate := millilitres(each); rate != nil {
			s.put("amount.rate", amount(scaled(each, 6), "mL/{unit}"))
		}
	}
	s.put("area.size", amount("1", "{tree}"))
	if air := w.Visit.Facts.Weather; air != nil {
		w.weather(s, *air)
	}
}

func (w *work) weather(s sheet, air entries.Weather) {
	if air.Air != nil {
		s.put("weather.air_temp", amount(scaled(*air.Air-273_150, 3), "Cel"))
	}
	if air.Wind != nil {
		s.put("weather.wind", amount(scaled(*air.Wind, 3), "m/s"))
	}
	if air.Humidity != nil {
		s.put("weather.humidity", amount(scaled(int64(*air.Humidity), 0), "%"))
	}
	s.put("weather.rain", air.Rain)
}

// vouched is who signed, and when the record was whole.
func (w *work) vouched(s sheet) {
	c := w.Visit.Closed
	if c == nil {
		return
	}
	s.put("recorded_at", w.moment(w.Visit.ClosedAt))
	s.put("signature.by", c.Signature.Name)
	s.put("signature.at", w.moment(w.Visit.ClosedAt))
	s.put("signature.meaning", c.Signature.Meaning)
}

func (w *work) waste(s sheet) {
	var marks, to, proofs []string
	handed, last := 0, int64(0)
	add := func(list *[]string, text string) {
		if text != "" && !slices.Contains(*list, text) {
			*list = append(*list, text)
		}
	}
	for _, b := range w.bags {
		add(&marks, b.Facts.Mark)
		s.put("waste.hazardous", b.Facts.Hazardous)
		s.put("waste.code", b.Facts.Code)
		if b.Handed != nil {
			handed, last = handed+1, max(last, b.HandedAt)
			add(&to, b.Handed.To)
			add(&proofs, b.Handed.Proof)
		}
	}
	if len(w.bags) > 0 {
		s.put("waste.bagged", true)
	}
	if len(w.bags) > 0 && handed == len(w.bags) {
		s.put("waste.handed_at", w.moment(last))
	}
	s.put("waste.batch", strings.Join(marks, ", "))
	s.put("waste.destination", strings.Join(to, ", "))
	s.put("waste.proof", strings.Join(proofs, ", "))
}

// follows is what nobody has to tell: it can be read off the rest, and a told fact
// stands in its place.
func (w *work) follows(s sheet) {
	g := w.Grounds.Facts
	if g.Context != "" {
		s.put("site.type", g.Context+" tree")
	}
	s.put("method", "trunk micro-injection, sealed pressurised units")
	s.put("type_of_use", "individual plant")
	s.put("electronic_at", Record{facts: s}.fact("recorded_at"))
	assume(s, "ctx.commercial") // a client's name does not tell it: a city has its own crew
	s.put("ctx.agricultural", g.Context == "orchard" || g.Context == "nursery")
	s.put("ctx.greenhouse_or_nursery", g.Context == "nursery")
	w.chosen(s)
}

// assume takes for true what would ask for more, where nobody told it in words that
// can be read.
func assume(s sheet, f Field) {
	if _, told := (Record{facts: s}).fact(f).(bool); told {
		return
	}
	maps.Copy(s, Record{facts: s}.With(f, true).With(assumed+f, true).facts)
}

func (w *work) chosen(s sheet) {
	r := Record{facts: s}
	c := Choose(r.Text("site.country"), r.Text("site.region"))
	if told := r.Text("profiles"); told != "" {
		c = split(told)
	}
	profiles := []any{}
	for _, id := range c {
		profiles = append(profiles, id)
	}
	s["profiles"] = profiles
}

// person finds who somebody is, or somebody unknown.
func (f Facts) person(id journal.ID) *views.Person {
	if p := byID(f.People, id); p != nil {
		return p
	}
	return &views.Person{}
}

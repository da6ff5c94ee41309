package documents

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// TreatmentRecord writes one record with all that stands in it. What one of the
// profiles asks of it and nobody wrote down is printed as not recorded. What was
// corrected shows its present value, what stood before, who, when and why.
func TreatmentRecord(w io.Writer, r records.Record, profiles []string, p *words.Printer, paper Paper) error {
	v := voice{p, p.Lang, p.Style}
	if err := knownProfiles(profiles); err != nil {
		return fmt.Errorf("treatment record: %w", err)
	}
	title := strings.TrimSpace(v.Say("paper.record.title") + " " + r.Text("tree.id") + " " + r.Text("date"))
	return printPages(w, treatmentPages(r, profiles, v, paper, 1), paper, title, v.lang, dayOf(r))
}

// knownProfiles refuses a profile that there is not: a paper that asked for nothing
// would look complete.
func knownProfiles(ids []string) error {
	var known []string
	for _, p := range records.Profiles() {
		known = append(known, p.ID)
	}
	for _, id := range ids {
		if !slices.Contains(known, id) {
			return fmt.Errorf("profile %q is not known: want any of %s", id, strings.Join(known, ", "))
		}
	}
	return nil
}

// dayOf is the day of the work, for the file.
func dayOf(r records.Record) quantity.Date {
	d, err := quantity.ParseDate(r.Text("date"))
	if err != nil {
		return quantity.Date{}
	}
	return d
}

// recordParts are the parts of the paper and the facts in each, in order. What is in
// none of them, because a place of its own asks it, goes into the last.
var recordParts = []struct {
	key    string
	fields []records.Field
}{
	{"paper.part.who", []records.Field{
		"business.name", "business.address", "business.phone", "business.reg_no", "applicator.name", "applicator.cert_no", "applicator.cert_expiry", "applicator.cert_authority",
		"applied_by", "applied_by_name", "operator.name", "operator.qualification_ref", "supervisor.name", "operator_id_no", "ctx.commercial"}},
	{"paper.part.where", []records.Field{
		"client.name", "client.address", "client.phone", "property_operator.name", "site.name", "site.location", "site.address", "site.zip", "site.region", "site.country",
		"site.trs", "site.geo", "site.type", "site.context", "site.spot_description", "site_id_no", "ctx.agricultural", "ctx.greenhouse_or_nursery"}},
	{"paper.part.tree", []records.Field{
		"tree.id", "tree.species", "crop", "crop.name", "crop.eppo", "crop.bbch", "tree.circumference", "tree.measured_at_height",
		"target.pest", "target.eppo"}},
	{"paper.part.product", []records.Field{
		"product.name", "product.reg_no", "product.ai", "product.lot", "product.registrant", "product.eppo", "label.id", "label.version", "label.rup", "label.time_restricted",
		"label.stage_restricted", "amount.total", "amount.filled", "amount.left", "amount.rate", "area.size", "area.planted",
		"area.footprint_m2", "method", "type_of_use"}},
	{"paper.part.when", []records.Field{
		"date", "time.start", "time.end", "weather.air_temp", "weather.wind", "weather.humidity", "weather.rain"}},
	{"paper.part.units", []records.Field{
		"units.installed", "units.retrieved", "units.lost", "holes.count", "waste.batch", "waste.hazardous", "waste.code", "waste.destination", "waste.proof"}},
	{"paper.part.food", []records.Field{
		"label.re_entry", "label.re_entry_hours", "food.pre_harvest_days", "food.pre_harvest_text", "food.harvest_earliest", "food.tapping"}},
	{"paper.part.notices", []records.Field{
		"contract.ref", "contract.cost", "marker.posted_at", "marker.width_in", "marker.height_in", "marker.letter_height_in", "marker.above_ground_in",
		"marker.stay_off_hours", "marker.removed_at", "customer_copy.given_at", "reports.ca_monthly", "reports.ny_annual"}},
	{"paper.part.record", []records.Field{
		"record.id", "recorded_at", "electronic_at", "profiles", "profiles_why", "business.id", "business.keep_years"}},
}

// besides are facts that stand elsewhere on the paper.
var besides = []records.Field{"signature.by", "signature.at", "signature.meaning", "product.fictional", "as_of"}

// treatmentPages lays out a record; its pages are numbered from first on.
func treatmentPages(r records.Record, profiles []string, v voice, paper Paper, first int) []*page {
	f := newFolio(v, paper, recordHead(r, v), v.Say("paper.foot"))
	f.first = first
	if r.Text("product.fictional") == "true" {
		f.framed(10, bold, v.Say("sheet.fictional"))
	}
	facts, asked := v.factsOf(r), askedOf(r, profiles)
	marks := markAmended(r)
	for i, part := range recordParts {
		fields := part.fields
		if i == len(recordParts)-1 {
			fields = slices.Concat(fields, rest(facts, asked))
		}
		if items := v.items(fields, facts, asked, marks); len(items) > 0 {
			f.part(part.key, items)
		}
	}
	f.whole(func(f *folio) { // what it is held against does not stand on a page alone
		f.signature(r)
		f.amendments(r)
		f.demands(r, profiles)
	})
	return f.done()
}

func recordHead(r records.Record, v voice) heading {
	firm := v.or(r.Text("business.name"))
	title := v.Say("paper.record.title")
	return heading{
		title: title, right: r.Text("date"),
		under: []string{firm, v.or(v.location(r))},
		small: []string{v.Say("paper.tree") + " " + v.or(r.Text("tree.id"))},
		short: strings.Join([]string{title, r.Text("tree.id"), r.Text("date"), r.Text("record.id")}, "  ·  "),
	}
}

// assumedFact is a fact that nobody told: what it was taken for, or, where it has no
// value, that it was taken to hold.
func (v voice) assumedFact(r records.Record, f records.Field) leaf {
	for _, l := range leaves(r) {
		if l.field == f {
			return leaf{f, v.Say("paper.assumed", why.T("value", v.fact(l))), true}
		}
	}
	return leaf{f, v.Say("paper.assumed_none"), true}
}

// assumed stands before the name of a fact that nobody told and that was taken for so.
const assumed = "assumed."

func (v voice) factsOf(r records.Record) map[records.Field]leaf {
	facts := map[records.Field]leaf{}
	for _, l := range leaves(r) {
		if l.field == "site.location" {
			l.fact = v.location(r)
		}
		if told, ok := strings.CutPrefix(string(l.field), assumed); ok {
			l = v.assumedFact(r, records.Field(told))
		} else if facts[l.field].assumed { // told by that, and with what it is worth
			continue
		}
		facts[l.field] = l
	}
	return facts
}

// location is where the tree stands, its tag told in the reader's words.
func (v voice) location(r records.Record) string {
	place := r.Text("site.location")
	tag := r.Text("tree.id")
	if before, ok := strings.CutSuffix(place, "tree "+tag); ok && tag != "" && (before == "" || strings.HasSuffix(before, ", ")) {
		return before + v.Say("paper.tree_tag", why.T("tag", tag))
	}
	return place
}

// askedOf are the fields that any of the profiles asks of this record.
func askedOf(r records.Record, profiles []string) map[records.Field]bool {
	asked := map[records.Field]bool{}
	for _, id := range profiles {
		for _, f := range records.Asked(id, r) {
			asked[f] = true
		}
	}
	return asked
}

// rest are the facts that have no place of their own, by name.
func rest(facts map[records.Field]leaf, asked map[records.Field]bool) []records.Field {
	var fields []records.Field
	add := func(f records.Field) {
		if !slices.Contains(fields, f) && !slices.Contains(besides, f) && !placed[f] {
			fields = append(fields, f)
		}
	}
	for f := range facts {
		add(f)
	}
	for f := range asked {
		if f != "signature" {
			add(f)
		}
	}
	slices.Sort(fields)
	return fields
}

// placed are the fields that have a place of their own.
var placed = func() map[records.Field]bool {
	all := map[records.Field]bool{}
	for _, part := range recordParts {
		for _, f := range part.fields {
			all[f] = true
		}
	}
	return all
}()

// items are the facts of a part that are there or should be.
func (v voice) items(fields []records.Field, facts map[records.Field]leaf, asked map[records.Field]bool, marks map[records.Field]string) []item {
	var items []item
	for _, f := range fields {
		l, has := facts[f]
		switch {
		case has:
			items = append(items, item{v.fieldName(f), strings.TrimSpace(v.fact(l) + " " + marks[f]), l.assumed})
		case asked[f] && !partly(f, facts):
			items = append(items, item{v.fieldName(f), strings.TrimSpace(v.Say("paper.not_recorded") + " " + marks[f]), true})
		}
	}
	return items
}

// partly tells whether a field that is asked as a whole is there in parts.
func partly(f records.Field, facts map[records.Field]leaf) bool {
	for has := range facts {
		if strings.HasPrefix(string(has), string(f)+".") {
			return true
		}
	}
	return false
}

// fieldName is what a field is called; one that the catalogue does not know keeps
// its own name.
func (v voice) fieldName(f records.Field) string { return v.sayOr("field."+string(f), string(f)) }

// markAmended gives each field that was corrected its marks, [1] for the first
// correction.
func markAmended(r records.Record) map[records.Field]string {
	marks := map[records.Field]string{}
	for i, a := range r.Amendments {
		if a.Field != "" {
			marks[a.Field] = strings.TrimSpace(marks[a.Field] + " [" + strconv.Itoa(i+1) + "]")
		}
	}
	return marks
}

// amendments tells what was corrected, openly.
func (f *folio) amendments(r records.Record) {
	if len(r.Amendments) == 0 {
		return
	}
	f.section("paper.part.amendments", 14)
	for i, a := range r.Amendments {
		name, a := f.amendedName(a)
		at, ok := clock(a.At)
		if !ok {
			at = f.or(a.At)
		}
		f.bullet("["+strconv.Itoa(i+1)+"]", f.Say("paper.amended", why.T("field", name),
			why.T("before", f.or(f.amendedText(a.Before))), why.T("after", f.or(f.amendedText(a.After))), why.T("by", f.or(a.By)), why.T("at", at), why.T("why", f.or(a.Why))))
	}
}

// amendedName is what was corrected, in words. Where the record has no field of its own
// for it, its texts begin with the name that it has in the journal.
func (f *folio) amendedName(a records.Amendment) (string, records.Amendment) {
	if a.Field != "" {
		return f.fieldName(a.Field), a
	}
	name, after, ok := strings.Cut(a.After, ": ")
	before, has := strings.CutPrefix(a.Before, name+": ")
	if !ok || !has {
		return f.Say("paper.amended.record"), a
	}
	a.Before, a.After = before, after
	return f.sayOr("member."+strings.ReplaceAll(name, " ", "_"), name), a
}

// amendedText is a corrected value with the signs of units and the decimal sign of the
// reader.
func (v voice) amendedText(s string) string {
	if amount, unit, _ := strings.Cut(s, " "); !strings.Contains(unit, " ") {
		if _, err := strconv.ParseFloat(amount, 64); err == nil {
			return strings.TrimSpace(v.number(json.Number(amount)) + " " + v.ucum(unit, amount))
		}
	}
	return plainUnits(s)
}

// signature shows the printed name, the time and the meaning; what is not signed has
// a box to sign in.
func (f *folio) signature(r records.Record) {
	if !r.Has("signature.by") {
		f.part("paper.part.signature", []item{{f.fieldName("signature.by"), f.Say("paper.not_recorded"), true}})
		f.hands("paper.sign.name", "paper.sign.at", "paper.sign.meaning")
		return
	}
	var items []item
	for _, part := range []records.Field{"signature.by", "signature.at", "signature.meaning"} {
		value := r.Text(part)
		items = append(items, item{f.fieldName(part), f.or(f.textFact(part, value)), value == ""})
	}
	f.part("paper.part.signature", items)
}

// demands says by which profiles the paper was made, what of them was looked at when,
// and that this is no advice.
func (f *folio) demands(r records.Record, profiles []string) {
	missing := 0
	for field := range askedOf(r, profiles) {
		if !r.Has(field) || r.Text(assumed+field) == "true" {
			missing++
		}
	}
	var said []string
	for _, p := range records.Profiles() {
		if slices.Contains(profiles, p.ID) {
			said = append(said, f.Say("paper.asked_by", why.T("name", p.Name), why.T("day", p.CheckedOn)))
		}
	}
	switch {
	case len(profiles) == 0:
	case missing == 0:
		said = append(said, f.Say("paper.gaps.none"))
	default:
		said = append(said, f.Say("paper.gaps", why.T("n", missing)))
	}
	f.small(append(said, f.Say("paper.no_advice"))...)
}

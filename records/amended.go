package records

import (
	"cmp"
	"encoding/json"
	"maps"
	"reflect"
	"slices"
	"strings"

	"sapwell/entries"
	"sapwell/journal"
)

// amendments are the corrections that bear on this record, oldest first, one for
// each member of the corrected entry that was changed.
func (w *work) amendments() []Amendment {
	bearing := slices.DeleteFunc(slices.Clone(w.Amended), func(e entries.Entry) bool { return !w.bears(e) })
	slices.SortStableFunc(bearing, func(a, b entries.Entry) int { return cmp.Compare(a.When(), b.When()) })
	var list []Amendment
	for _, e := range bearing {
		list = append(list, w.amendment(e)...)
	}
	return list
}

// bears tells whether an amendment speaks of what this record is made of. One that
// names a unit or a hole of another tree of the visit does not.
func (w *work) bears(e entries.Entry) bool {
	a, ok := e.Body.(entries.Amendment)
	if !ok {
		return false
	}
	about := func(kind entries.SubjectKind, id string) bool {
		return id != "" && slices.Contains(a.About(e.ID), entries.Subject{Kind: kind, ID: id})
	}
	if about(entries.OfVisit, w.Visit.ID) {
		return w.ofTree(a)
	}
	for _, p := range append(slices.Clone(w.doers), w.person(w.Visit.Facts.Certified)) {
		if about(entries.OfPerson, p.ID) {
			return true
		}
	}
	for _, l := range w.lots {
		if about(entries.OfLot, l.ID) {
			return true
		}
	}
	for _, b := range w.bags {
		if about(entries.OfBag, b.ID) {
			return true
		}
	}
	return about(entries.OfTree, w.tree.ID) || about(entries.OfGrounds, w.Grounds.ID) || about(entries.OfOrg, w.Org.ID)
}

// ofTree tells whether what was amended in the visit is of this tree, or of the
// visit as a whole.
func (w *work) ofTree(a entries.Amendment) bool {
	var body struct {
		Tree, Hole, Unit journal.ID
	}
	if json.Unmarshal(a.After, &body) != nil {
		return true
	}
	none := journal.ID{}
	if body.Unit == none && a.OfKind == (entries.UnitSeated{}).Kind() {
		body.Unit = a.Of
	}
	if body.Tree != none {
		return body.Tree == w.given.Tree
	}
	for _, u := range w.Visit.Units {
		if u.ID == body.Unit || body.Hole != none && u.Hole == body.Hole {
			return u.Tree == w.given.Tree
		}
	}
	return true
}

// amendment lists what one correction changed.
func (w *work) amendment(e entries.Entry) []Amendment {
	a := e.Body.(entries.Amendment)
	head := Amendment{By: w.person(a.By).Facts.Name, At: w.at(e.When()).Format("2006-01-02T15:04:05Z07:00"), Why: a.Why}
	before, errBefore := members(a.Before)
	after, errAfter := members(a.After)
	if errBefore != nil || errAfter != nil {
		return []Amendment{head}
	}
	names := maps.Clone(before)
	maps.Copy(names, after)
	var list []Amendment
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if name == "v" || name == "by" || name == "over" || reflect.DeepEqual(before[name], after[name]) {
			continue
		}
		change := head
		change.Field = w.fieldOf(a.OfKind, name, after)
		change.Before, change.After = w.said(name, before[name]), w.said(name, after[name])
		if change.Field == "" { // the record has no one field for it: say which
			change.Before, change.After = bare(name)+": "+change.Before, bare(name)+": "+change.After
		}
		list = append(list, change)
	}
	return list
}

func members(body json.RawMessage) (map[string]any, error) {
	v, err := read(body)
	object, _ := v.(map[string]any)
	return object, err
}

// fieldOf is the field of a record that a member of an entry tells.
func (w *work) fieldOf(kind, member string, body map[string]any) Field {
	switch {
	case kind == (entries.RecordFact{}).Kind() && member == "text":
		return Field(line(body["field"]))
	case kind == (entries.Certificate{}).Kind() && line(body["person"]) != w.Visit.Facts.Certified.String():
		return "" // of a helper
	}
	return tells[kind+"/"+member]
}

// tells has the members that tell one field alone. What was left in one unit is not
// among them: the record has the sum.
var tells = map[string]Field{
	"org/name": "business.name", "org/phone": "business.phone", "org/reg_no": "business.reg_no", "org/keep_years": "business.keep_years",
	"grounds/name": "site.name", "grounds/client": "client.name", "grounds/client_address": "client.address",
	"grounds/operator": "property_operator.name", "grounds/address": "site.address", "grounds/zip": "site.zip",
	"grounds/country": "site.country", "grounds/region": "site.region", "grounds/place": "site.geo", "grounds/context": "site.context",
	"tree/tag": "tree.id", "tree/species": "tree.species", "tree/place": "site.geo",
	"measurement/stems": "tree.circumference", "condition/pest": "target.pest", "condition/bbch": "crop.bbch",
	"plan/pest": "target.pest", "lot/number": "product.lot",
	"certificate/number": "applicator.cert_no", "certificate/until": "applicator.cert_expiry",
	"visit.opened/certified": "applicator.name", "visit.opened/day": "date", "visit.opened/weather": "weather",
	"visit.closed/signature": "signature",
	"bag.sealed/mark":        "waste.batch", "bag.sealed/code": "waste.code", "bag.sealed/hazardous": "waste.hazardous",
	"bag.handed/to": "waste.destination", "bag.handed/proof": "waste.proof",
}

// said is a member of an entry as a person reads it: with its unit, and names in
// the place of ids.
func (w *work) said(member string, v any) string {
	switch v := v.(type) {
	case json.Number:
		n, err := v.Int64()
		if err != nil {
			return decimal(v)
		}
		return w.measured(member, n)
	case string:
		return w.named(v)
	case []any:
		var texts []string
		for _, item := range v {
			texts = append(texts, w.said(member, item))
		}
		return strings.Join(texts, ", ")
	case map[string]any:
		var texts []string
		for _, name := range slices.Sorted(maps.Keys(v)) {
			texts = append(texts, bare(name)+" "+w.said(name, v[name]))
		}
		return strings.Join(texts, ", ")
	}
	return line(v)
}

// measured adds the unit that the suffix of a member's name says.
func (w *work) measured(member string, n int64) string {
	switch {
	case strings.HasSuffix(member, "_nm"):
		return line(w.length(n))
	case strings.HasSuffix(member, "_nl"):
		return string(scaled(n, 6)) + " mL"
	case strings.HasSuffix(member, "_mk"):
		return string(scaled(n-273_150, 3)) + " Cel"
	case strings.HasSuffix(member, "_mm_s"):
		return string(scaled(n, 3)) + " m/s"
	case strings.HasSuffix(member, "_pa"):
		return string(scaled(n, 3)) + " kPa"
	case strings.HasSuffix(member, "_e7"):
		return string(scaled(n, 7))
	case strings.HasSuffix(member, "_cents"), strings.HasSuffix(member, "cents"):
		return string(scaled(n, 2))
	case member == "at", member == "start", member == "end":
		return w.at(n).Format("2006-01-02 15:04")
	}
	return string(scaled(n, 0))
}

// bare is the name of a member without the unit.
func bare(member string) string {
	for _, suffix := range []string{"_nm", "_nl", "_mk", "_mm_s", "_pa", "_e7", "_cents", "_percent"} {
		member = strings.TrimSuffix(member, suffix)
	}
	return strings.ReplaceAll(member, "_", " ")
}

// named puts in the place of an id what it stands for.
func (w *work) named(text string) string {
	var id journal.ID
	if id.UnmarshalText([]byte(text)) != nil {
		return strings.Join(strings.Fields(text), " ")
	}
	if p := byID(w.People, id); p != nil {
		return p.Facts.Name
	}
	if l := byID(w.Lots, id); l != nil {
		return l.Facts.Number
	}
	if t := byID(w.Trees, id); t != nil {
		return t.Facts.Tag
	}
	return text
}

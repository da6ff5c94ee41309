package records

import (
	"slices"
	"strings"

	"sapwell/engine/why"
)

// Judged is a record with what the profiles chosen for it find, each thing once.
type Judged struct {
	Record    string   `json:"record"`
	Date      string   `json:"date"`
	Tree      string   `json:"tree"`
	Product   string   `json:"product"`
	Place     string   `json:"place,omitempty"`
	Profiles  []string `json:"profiles"`
	Overruled string   `json:"overruled,omitempty"`
	KeepUntil string   `json:"keep_until,omitempty"`
	Findings  []Found  `json:"findings"`
}

// Found is a finding with the profiles that have it.
type Found struct {
	Code     string   `json:"code"`
	Says     Said     `json:"-"`
	Text     string   `json:"says"` // that, in one language
	Until    string   `json:"until,omitempty"`
	Profiles []string `json:"profiles"`
	Kind     string   `json:"-"`
	What     string   `json:"-"`
}

// Phrase is the finding as the catalogue says it: a key, and what fills its blanks.
// name is how a field is called.
func (f Found) Phrase(name func(field string) string) (key string, blanks []why.Term) {
	blanks = []why.Term{why.T("text", f.Text), why.T("profiles", strings.Join(f.Profiles, ", "))}
	switch f.Kind {
	case Late:
		return "records.late", append(blanks, why.T("day", f.Until))
	case Invalid:
		return "records.malformed", append(blanks, why.T("field", name(f.What)))
	}
	return "records.missing", append(blanks, why.T("field", name(f.What)))
}

// Judge holds a record against the profiles chosen for it, and says what it finds in a
// language.
func Judge(r Record, lang string) Judged {
	j := Judged{Record: r.Text("record.id"), Date: r.Text("date"), Tree: r.Text("tree.id"), Product: r.Text("product.name"), Findings: []Found{}}
	j.Place = strings.Trim(r.Text("site.country")+" "+r.Text("site.region"), " ")
	j.Profiles, j.Overruled = r.Chosen()
	j.KeepUntil = KeepUntil(r).String()
	for _, f := range Lacks(r) {
		f.Text = f.Says.In(lang)
		j.Findings = append(j.Findings, f)
	}
	return j
}

// Lacks is what the profiles chosen for a record find in it, each thing once; and the
// place, where it is not known which profiles hold.
func Lacks(r Record) (list []Found) {
	chosen, _ := r.Chosen()
	if f, ok := r.unplaced(); ok {
		found := Finding{Kind: Missing, What: string(f), Why: all().unplaced}
		if r.Has(f) {
			found.Kind = Invalid
		}
		list = append(list, Found{Code: found.Code(), Says: found.Why, Kind: found.Kind, What: found.What, Profiles: chosen})
	}
	for _, result := range Check(r) {
		if !slices.Contains(chosen, result.Profile) {
			continue
		}
		for _, f := range result.Findings {
			i := slices.IndexFunc(list, func(o Found) bool { return o.Code == f.Code() })
			if i < 0 {
				i = len(list)
				list = append(list, Found{Code: f.Code(), Says: f.Why, Until: f.Until, Kind: f.Kind, What: f.What})
			}
			list[i].Profiles = append(list[i].Profiles, result.Profile)
		}
	}
	return list
}

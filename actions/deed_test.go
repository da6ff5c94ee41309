package actions

import (
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/internal/strict"
	"sapwell/journal"
)

// Every deed, in the order of the work, with who may. Reads like the table of
// doc/deeds.md, and is typed here once more so that a slip there is seen.
const whoMay = `
org.update        office
person.add        office
person.update     office
person.leave      office
person.certify    office
device.enrol      office
device.revoke     office
grounds.add       office applicator
grounds.update    office applicator
tree.add          office applicator
tree.import       office applicator
tree.update       office applicator
tree.measure      office applicator trainee
tree.inspect      office applicator trainee
wound.record      office applicator trainee
closure.record    office applicator trainee
label.add         office
lot.add           office applicator
lot.update        office applicator
lot.move          office applicator
tree.plan         office applicator
plan.adjust       office applicator
visit.open        applicator
hole.bore         applicator trainee
unit.seat         applicator trainee
tree.install      applicator trainee
unit.pressurise   applicator trainee
unit.drain        applicator trainee
unit.stick        applicator trainee
unit.lift         applicator trainee
unit.lose         applicator trainee
visit.tally       applicator trainee
visit.close       applicator
bag.seal          office applicator trainee
bag.hand          office applicator
note.add          office applicator trainee
record.tell       office applicator trainee
photo.add         office applicator trainee
amend             office applicator
visit.retire      office
`

func TestEveryDeedAndWhoMay(t *testing.T) {
	var list []string
	for _, d := range Deeds() {
		var roles []string
		for _, r := range []entries.Role{entries.Office, entries.Applicator, entries.Trainee, entries.Inspector} {
			if d.May([]entries.Role{r}) {
				roles = append(roles, string(r))
			}
		}
		list = append(list, fmt.Sprintf("%-17s %s", d.Name, strings.Join(roles, " ")))
	}
	if got := "\n" + strings.Join(list, "\n") + "\n"; got != whoMay {
		t.Errorf("deeds:%s\nwant:%s", got, whoMay)
	}
}

// Each role tries each deed with an empty input: who may not is told so before
// anything else, and who may is told what is missing.
func TestEveryRoleTriesEveryDeed(t *testing.T) {
	f := newFirm(t)
	office := f.do(f.boss, "person.add", `{"name":"Eli Primer","roles":["office"]}`)
	for _, d := range Deeds() {
		for by, role := range map[journal.ID]entries.Role{office: entries.Office, f.app: entries.Applicator, f.train: entries.Trainee, f.look: entries.Inspector} {
			_, err := d.Do(f.moment(by), f, json.RawMessage(`{}`))
			var r *Refusal
			if err != nil && !errors.As(err, &r) {
				t.Errorf("%s by %s: %v, want a refusal", d.Name, role, err)
				continue
			}
			forbidden := r != nil && r.Kind == Forbidden && r.Code == "person.not_entitled"
			if may := d.May([]entries.Role{role}); may == forbidden {
				t.Errorf("%s by %s: %v", d.Name, role, err)
			}
			if !forbidden && r != nil && r.Kind != BadInput {
				t.Errorf("%s by %s with an empty input: %+v", d.Name, role, r)
			}
		}
	}
}

func TestWhoIsNotKnownOrHasLeftMayNothing(t *testing.T) {
	f := newFirm(t)
	f.do(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, f.app))
	for _, d := range Deeds() {
		for by, code := range map[journal.ID]string{{}: "person.nobody", f.org: "person.nobody", f.app: "person.left"} {
			out, err := d.Do(f.moment(by), f, json.RawMessage(`{}`))
			var r *Refusal
			if !errors.As(err, &r) || r.Code != code || r.Kind != Forbidden || out.Drafts != nil {
				t.Errorf("%s by %s: %v, want %s", d.Name, by, err, code)
			}
		}
	}
}

// Schemas of every input and result can be made, and no field is left without a
// name that people can write.
func TestEveryDeedHasASchema(t *testing.T) {
	registry := huma.NewMapRegistry("#/components/schemas/", func(t reflect.Type, hint string) string {
		return strings.ReplaceAll(t.PkgPath(), "/", "_") + huma.DefaultSchemaNamer(t, hint) // a Plan is not a marks.Plan
	})
	for _, d := range Deeds() {
		for what, v := range map[string]any{"input": d.Input, "result": d.Result} {
			typ := reflect.TypeOf(v)
			if typ == nil || typ.Kind() != reflect.Struct {
				t.Errorf("%s: %s is %v, want a struct", d.Name, what, typ)
				continue
			}
			schema, err := json.Marshal(huma.SchemaFromType(registry, typ))
			if err != nil || !json.Valid(schema) {
				t.Errorf("%s: schema of the %s: %v", d.Name, what, err)
			}
		}
		for _, f := range strict.Fields(reflect.TypeOf(d.Input)) {
			if doc := f.Of.Tag.Get("doc"); doc == "" || f.Name != strings.ToLower(f.Name) {
				t.Errorf("%s: field %q: doc %q, want a name in lower case with a few words on it", d.Name, f.Name, doc)
			}
		}
		checkReadable(t, d.Name, reflect.TypeOf(d.Input), nil)
	}
}

// checkReadable demands that the reader of inputs knows what to do with a type:
// floats only in quantities, no maps, nothing of any type.
func checkReadable(t *testing.T, where string, typ reflect.Type, above []reflect.Type) {
	t.Helper()
	if strict.ReadsItself(typ) || typ == reflect.TypeFor[json.RawMessage]() || slices.Contains(above, typ) {
		return
	}
	above = append(above, typ)
	switch typ.Kind() {
	case reflect.Pointer, reflect.Slice:
		checkReadable(t, where+"[]", typ.Elem(), above)
	case reflect.Struct:
		for _, f := range strict.Fields(typ) {
			checkReadable(t, where+"."+f.Name, f.Of.Type, above)
		}
	case reflect.String, reflect.Bool, reflect.Int, reflect.Int64:
	default:
		t.Errorf("%s: %v cannot be an input", where, typ)
	}
}

// A refused deed writes nothing, whatever it had on its sheet by then: a list of
// trees whose last row is faulty.
func TestARefusedDeedWritesNothing(t *testing.T) {
	f := newFirm(t)
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	before := len(f.raw)
	csv := `"tag,species,girth,girth_height\nA-1,green ash,96 in,12 in\nA-2,no such tree,96 in,12 in\n"`
	f.refused(f.app, "tree.import", fmt.Sprintf(`{"grounds":%q,"csv":%s}`, grounds, csv), "tree.list_faulty", "csv")
	if len(f.raw) != before {
		t.Errorf("%d entries came of it", len(f.raw)-before)
	}
}

// Deeds take their ids and times from the moment and from nothing else: the same
// moments give the same bytes.
func TestDeedsAreRepeatable(t *testing.T) {
	lines := func() []string {
		f := newFirm(t)
		f.ashTree()
		var all []string
		for _, e := range f.raw {
			all = append(all, string(e.Line))
		}
		return all
	}
	if a, b := lines(), lines(); !slices.Equal(a, b) {
		t.Error("two equal days gave different journals")
	}
}

func TestFounding(t *testing.T) {
	f := newFirm(t)
	if len(f.raw) < 3 || f.raw[0].Kind != "org" || f.raw[1].Kind != "person" || f.raw[2].Kind != "device.enrolled" {
		t.Fatalf("the first entries are %v", kindsOf(f.raw))
	}
	if f.raw[0].ID != f.org || f.raw[0].Seq != 1 {
		t.Error("the organisation is not named by the first entry")
	}
	if by := f.items[0].Body.Said().By; by != (journal.ID{}) {
		t.Errorf("the organisation is founded by %s, whom nobody knows yet", by)
	}
	if by := f.items[2].Body.Said().By; by != f.boss {
		t.Errorf("the device is enrolled by %s", by)
	}
	uk, err := Found(f.moment(journal.ID{}), FoundInput{Name: "x", Country: "u.k.", Zone: "UTC", KeepYears: 3, Person: "y", Device: "z"})
	if err != nil || !strings.Contains(string(uk.Drafts[0].Body), `"country":"GB"`) { // ISO 3166-1
		t.Errorf("a country in other words: %v %v", uk, err)
	}
	for _, bad := range []FoundInput{
		{},
		{Name: "x", Country: "Mars", Zone: "UTC", KeepYears: 2, Person: "y", Device: "z"},
		{Name: "x", Country: "US", Zone: "UTC", KeepYears: 0, Person: "y", Device: "z"},
		{Name: "x", Country: "US", Zone: "UTC", KeepYears: 2, Person: "", Device: "z"},
		{Name: "x", Country: "US", Zone: "UTC", KeepYears: 2, Person: "y", Device: ""},
		{Name: "x", Country: "US", Zone: "UTC", KeepYears: 2, Person: "y", Device: "z", Roles: []entries.Role{entries.Inspector}},
	} {
		made, err := Found(f.moment(journal.ID{}), bad)
		var r *Refusal
		if !errors.As(err, &r) || r.Kind != BadInput || r.Field == "" || made.Drafts != nil {
			t.Errorf("%+v: %v (%+v), want a refusal that names the field", bad, err, r)
		}
	}
}

func kindsOf(list []journal.Entry) (kinds []string) {
	for _, e := range list {
		kinds = append(kinds, e.Kind)
	}
	return kinds
}

func TestWhenItHappened(t *testing.T) {
	f := newFirm(t)
	_, tree, _ := f.ashTree()
	inspect := `{"tree":%q,"canopy_loss":20,"at":%d}`
	f.do(f.app, "tree.inspect", fmt.Sprintf(inspect, tree, f.now-86_400_000))
	e := f.items[len(f.items)-1]
	if e.When() != f.now-1000-86_400_000 || e.Time != f.now {
		t.Errorf("happened at %d, written at %d", e.When(), e.Time)
	}
	f.refused(f.app, "tree.inspect", fmt.Sprintf(inspect, tree, f.now+3_600_000), "input.moment", "at")
	f.refused(f.app, "tree.inspect", fmt.Sprintf(inspect, tree, -1), "input.moment", "at")
}

// strict are inputs of tree.add, each with what it is refused for.
func TestInputsAreReadStrictly(t *testing.T) {
	f := newFirm(t)
	grounds := f.do(f.app, "grounds.add", `{"name":"North Walk (invented)","context":"amenity"}`)
	for _, c := range []struct{ input, code, field string }{
		{``, "input.not_json", ""},
		{`{`, "input.not_json", ""},
		{`{} {}`, "input.not_json", ""},
		{"{\"tag\":\"\x01\"}", "input.not_json", ""},
		{`null`, "input.value", ""},
		{`[]`, "input.value", ""},
		{`"x"`, "input.value", ""},
		{`{}`, "input.missing", "grounds"},
		{`{"grounds":"G","tag":"1","species":"green ash"}`, "input.missing", "species"},
		{`{"grounds":"G","tag":"1","species":"green ash","colour":"green"}`, "input.unknown", "colour"},
		{`{"grounds":"G","Tag":"1","species":"green ash"}`, "input.unknown", "Tag"},
		{`{"grounds":"G","tag":"1","tag":"2","species":"green ash"}`, "input.twice", "tag"},
		{`{"grounds":"G","tag":null,"species":"green ash"}`, "input.missing", "tag"},
		{`{"grounds":"G","tag":7,"species":"green ash"}`, "input.value", "tag"},
		{`{"grounds":"nowhere","tag":"1","species":"green ash"}`, "input.value", "grounds"},
		{`{"grounds":"G","tag":"","species":"green ash"}`, "input.value", "tag"},
		{`{"grounds":"G","tag":"1","species":"green ash","place":[1,2]}`, "input.value", "place"},
		{`{"grounds":"G","tag":"1","species":"green ash","place":{"lat_e7":1}}`, "input.missing", "place.lon_e7"},
		{`{"grounds":"G","tag":"1","species":"green ash","place":{"lat_e7":1.5,"lon_e7":1}}`, "input.value", "place.lat_e7"},
		{`{"grounds":"G","tag":"1","species":"green ash","place":{"lat_e7":9999999999999999999,"lon_e7":1}}`, "input.value", "place.lat_e7"},
		{`{"grounds":"G","tag":"1","species":"green ash","place":{"lat_e7":910000000,"lon_e7":1}}`, "input.value", "place.lat_e7"},
	} {
		input := strings.Replace(c.input, `"G"`, `"`+grounds.String()+`"`, 1)
		if c.field == "species" {
			input = strings.Replace(input, `,"species":"green ash"`, "", 1)
		}
		f.refused(f.app, "tree.add", input, c.code, c.field)
	}
	f.refused(f.app, "tree.measure", fmt.Sprintf(`{"tree":%q,"stems":[{"ring":{"girth":{"around":96,"height":"12 in"}}}]}`, grounds), "input.value", "stems[0].ring.girth.around")
	f.refused(f.app, "tree.inspect", fmt.Sprintf(`{"tree":%q,"eaten":"Yes"}`, grounds), "input.value", "eaten")
	f.refused(f.boss, "person.add", `{"name":"x","roles":["office","king"]}`, "input.value", "roles[1]")
}

// FuzzInputs throws bytes at every deed: none panics, each is refused or done.
func FuzzInputs(f *testing.F) {
	firm := newFirm(f)
	grounds, tree, label := firm.ashTree()
	for i := range Deeds() {
		f.Add(i, fmt.Appendf(nil, `{"tree":%q,"grounds":%q,"label":%q,"day":"2026-06-09","stems":[{"ring":{"girth":{"around":"1e9 in","height":"12 in"}}}]}`, tree, grounds, label))
	}
	f.Add(0, []byte(`{"name":"\ud800","keep_years":1e3}`))
	f.Add(14, []byte(`{"around":"99999999999999999 km"}`))
	f.Fuzz(func(t *testing.T, n int, input []byte) {
		deeds := Deeds()
		d := deeds[uint(n)%uint(len(deeds))]
		out, err := d.Do(firm.moment(firm.boss), firm, input)
		var r *Refusal
		if err != nil && (!errors.As(err, &r) || r.Code == "" || r.Text == "" || out.Drafts != nil) {
			t.Errorf("%s %q: %v", d.Name, input, err)
		}
		for _, draft := range out.Drafts {
			if _, err := entries.ReadBody(draft.Kind, draft.Body); err != nil {
				t.Errorf("%s wrote what cannot be read: %v", d.Name, err)
			}
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	raw := []byte(`{"tree":"019eab65-4fa0-7000-8000-000000000000","stems":[{"ring":{"girth":{"around":"96 in","height":"12 in"},"fissures":["1 in","2 in","3 in"]},
		"bark":[{"at":"12 in","thickness":"1/2 in"},{"at":"60 in","thickness":"1/2 in"}]}]}`)
	b.ReportAllocs()
	for b.Loop() {
		var in treeMeasure
		if err := decodeInput(raw, &in); err != nil || in.Stems[0].Ring.Girth.Around != 96*quantity.Inch {
			b.Fatal(err)
		}
	}
}

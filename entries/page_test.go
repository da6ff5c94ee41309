package entries

import (
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sapwell/journal"
)

// row is one line of a table of doc/entry-kinds.md.
type row struct{ member, typ, accepted string }

// optional tells whether the member may be absent.
func (r row) optional() bool { return strings.HasSuffix(r.typ, "?") }

// base is the type without question marks; of a list that of its items.
func (r row) base() (typ string, list bool) {
	return strings.CutPrefix(strings.TrimRight(r.typ, "?"), "list of ")
}

// bounds are those of a number.
func (r row) bounds(t testing.TB) (low, high int64) {
	switch typ, _ := r.base(); typ {
	case "count":
		return 0, 1_000_000
	case "moment":
		return 1, 7_258_118_400_000
	}
	if _, err := fmt.Sscanf(r.accepted, "%d to %d", &low, &high); err != nil {
		t.Fatalf("%s: bounds %q: %v", r.member, r.accepted, err)
	}
	return low, high
}

// page is doc/entry-kinds.md: the tables by their headings, and what stands
// between heading and table.
type page struct {
	tables map[string][]row
	texts  map[string]string
}

func readPage(t testing.TB) page {
	t.Helper()
	raw, err := os.ReadFile("../doc/entry-kinds.md")
	if err != nil {
		t.Fatal(err)
	}
	p := page{map[string][]row{}, map[string]string{}}
	heading := ""
	for line := range strings.Lines(string(raw)) {
		line = strings.TrimSpace(line)
		if name, ok := strings.CutPrefix(line, "### "); ok {
			heading = strings.Trim(name, "`")
			p.tables[heading] = nil
			continue
		}
		if strings.HasPrefix(line, "## ") {
			heading = ""
		}
		cells := strings.Split(line, "|")
		if heading != "" && len(cells) == 6 && strings.HasPrefix(cells[1], " `") {
			p.tables[heading] = append(p.tables[heading],
				row{strings.Trim(cells[1], " `"), strings.TrimSpace(cells[2]), strings.TrimSpace(cells[3])})
		} else if heading != "" && !strings.HasPrefix(line, "|") {
			p.texts[heading] += line + " "
		}
	}
	return p
}

// body lists the rows of a kind with those of every body.
func (p page) body(kind string) []row {
	return append(append([]row{}, p.tables["head"]...), p.tables[kind]...)
}

func TestPageNamesEveryKind(t *testing.T) {
	p := readPage(t)
	objects := []string{"head", "place", "subject", "girth", "arc", "bark", "stem", "planned", "job", "weather", "counted", "treated", "signature"}
	for _, name := range append(Kinds(), objects...) {
		if len(p.tables[name]) == 0 {
			t.Errorf("doc/entry-kinds.md has no table for %s", name)
		}
		delete(p.tables, name)
	}
	for name := range p.tables {
		t.Errorf("doc/entry-kinds.md has a table for %s, which is not written here", name)
	}
}

func TestPageSaysWhatTheStructsSay(t *testing.T) {
	p := readPage(t)
	for _, b := range bodies {
		for _, fault := range p.differs(b.Kind(), p.body(b.Kind()), reflect.TypeOf(b)) {
			t.Error(fault)
		}
	}
}

// differs compares a table with a struct, member by member and in its order.
func (p page) differs(name string, rows []row, t reflect.Type) []string {
	var fields []reflect.StructField
	for _, f := range reflect.VisibleFields(t) {
		if !f.Anonymous {
			fields = append(fields, f)
		}
	}
	if len(rows) != len(fields) {
		return []string{fmt.Sprintf("%s: %d members on the page, %d in %s", name, len(rows), len(fields), t)}
	}
	var faults []string
	for i, f := range fields {
		tag, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		r := rows[i]
		if r.member != tag || r.optional() != (options != "") {
			faults = append(faults, fmt.Sprintf("%s: the page has %s (%s), %s.%s has %q", name, r.member, r.typ, t, f.Name, f.Tag))
			continue
		}
		faults = append(faults, p.differsType(name+"."+tag, r, f.Type)...)
	}
	return faults
}

func (p page) differsType(name string, r row, t reflect.Type) []string {
	typ, list := r.base()
	number := typ == "whole" || typ == "count" || typ == "moment"
	switch {
	case list && t.Kind() == reflect.Slice:
		t = t.Elem()
	case strings.HasSuffix(r.typ, "??"), p.tables[typ] != nil && r.optional():
		if t.Kind() != reflect.Pointer {
			return []string{fmt.Sprintf("%s: %s on the page, want a pointer, have %s", name, r.typ, t)}
		}
		t = t.Elem()
	}
	if p.tables[typ] != nil && t.Kind() == reflect.Struct {
		return p.differs(name, p.tables[typ], t)
	}
	want := map[string]bool{
		"id":   t == reflect.TypeFor[journal.ID](),
		"hash": t == reflect.TypeFor[journal.Hash](),
		"day":  t == reflect.TypeFor[Date](),
		"body": t == reflect.TypeFor[json.RawMessage](),
		"flag": t.Kind() == reflect.Bool,
	}
	fits, special := want[typ]
	if !special && number {
		fits = t.Kind() == reflect.Int || t.Kind() == reflect.Int64
	} else if !special {
		fits = t.Kind() == reflect.String
	}
	if !fits {
		return []string{fmt.Sprintf("%s: %s on the page, %s in the struct", name, r.typ, t)}
	}
	return nil
}

var subjectLine = regexp.MustCompile("Subject: ([a-z]+)(?: `([a-z]+)`)?(, or the entry itself|, the entry itself)?")

// What the page says of subjects is what About says, for every example.
func TestPageNamesTheSubject(t *testing.T) {
	p := readPage(t)
	self := id(99)
	for _, e := range examples(t) {
		b, err := ReadBody(e.kind, e.body)
		if err != nil {
			t.Fatal(err)
		}
		about := b.About(self)
		var members map[string]any
		if err := json.Unmarshal(e.body, &members); err != nil {
			t.Fatal(err)
		}
		said := subjectLine.FindStringSubmatch(p.texts[e.kind])
		if said == nil {
			t.Fatalf("%s: the page does not say of whom it speaks: %s", e.kind, p.texts[e.kind])
		}
		want := Subject{SubjectKind(said[1]), self.String()}
		switch value, _ := members[said[2]].(string); {
		case said[1] == "what": // what `on` says
			on := members["on"].(map[string]any)
			want = Subject{SubjectKind(on["kind"].(string)), on["id"].(string)}
		case said[1] == "all": // an amendment has its own test
			continue
		case value != "":
			want.ID = value
		case said[3] == "":
			t.Errorf("%s: the page names a member %q that is absent in %s", e.kind, said[2], e.body)
		}
		if len(about) == 0 || about[0] != want {
			t.Errorf("%s speaks of %v, want first %v", e.kind, about, want)
		}
	}
}

// The bounds of every text and number are the very ones of the page: what lies
// on a bound is taken, what lies beyond it is refused by name.
func TestBoundsAreThoseOfThePage(t *testing.T) {
	p := readPage(t)
	for _, e := range examples(t) {
		if e.kind == "amendment" {
			continue // its bodies have their own bounds
		}
		p.eachMember(t, e, func(r row, holder map[string]any) {
			typ, list := r.base()
			if list || r.member == "v" || relates[e.kind+"."+r.member] {
				return
			}
			var good, bad []any
			switch typ {
			case "line", "remark", "file":
				most, _ := strconv.Atoi(r.accepted)
				good, bad = []any{"x", strings.Repeat("é", most)}, []any{strings.Repeat("é", most+1), "", " \u00a0", "a\x00", "a\u0085"}
				if typ == "line" {
					bad = append(bad, "a\nb")
				}
			case "whole", "count", "moment":
				low, high := r.bounds(t)
				good, bad = []any{low, high}, []any{low - 1, high + 1}
				if r.optional() && !strings.HasSuffix(r.typ, "??") {
					bad = append(bad, 0)
					good = []any{max(low, 1), high}
				}
			case "dotted":
				most, _ := strconv.Atoi(r.accepted)
				good = []any{"x", "a.b_2", strings.Repeat("x", most)}
				bad = []any{strings.Repeat("x", most+1), "", ".a", "a.", "a..b", "A", "a b", "é"}
			case "one of":
				for _, w := range strings.Split(r.accepted, ", ") {
					good = append(good, w)
				}
				bad = []any{"", "other"}
			}
			e.tryEach(t, holder, r.member, good, bad)
		})
	}
}

// relates names the members whose bounds hang on another member; TestChecks has
// them.
var relates = map[string]bool{
	"person.roles": true, "device.revoked.through": true, "stock.units": true, "stock.cents": true, "stock.sort": true,
	"tally.lots": true, "lot.coldest_mk": true, "lot.warmest_mk": true,
	"measurement.around_nm": true, "measurement.from_nm": true, "measurement.to_nm": true, "measurement.at_nm": true,
	"plan.depth_min_nm": true, "plan.depth_max_nm": true, "plan.p50_ms": true, "plan.p90_ms": true, "plan.full": true,
	"visit.closed.units": true, "visit.closed.lifted": true, "visit.closed.lost": true, "visit.closed.start": true, "visit.closed.end": true,
	"bag.sealed.left_low_nl": true, "bag.sealed.left_high_nl": true,
	"note.kind": true, "photo.kind": true, "record.fact.kind": true,
}

// eachMember visits every member that stands in an example, at any depth.
func (p page) eachMember(t *testing.T, e example, visit func(row, map[string]any)) {
	var walk func(rows []row, holder map[string]any)
	walk = func(rows []row, holder map[string]any) {
		for _, r := range rows {
			value, there := holder[r.member]
			if !there {
				continue
			}
			visit(r, holder)
			typ, _ := r.base()
			items, ok := value.([]any)
			if !ok {
				items = []any{value}
			}
			for _, item := range items {
				if object, ok := item.(map[string]any); ok && p.tables[typ] != nil {
					walk(p.tables[typ], object)
				}
			}
		}
	}
	walk(p.body(e.kind), e.value)
}

// tryEach puts values in the place of a member.
func (e example) tryEach(t *testing.T, holder map[string]any, member string, good, bad []any) {
	t.Helper()
	old := holder[member]
	defer func() { holder[member] = old }()
	for _, v := range good {
		holder[member] = v
		if _, err := ReadBody(e.kind, canonical(t, e.value)); err != nil {
			t.Errorf("%s.%s = %.40v: %v, want it taken", e.kind, member, v, err)
		}
	}
	for _, v := range bad {
		holder[member] = v
		if _, err := ReadBody(e.kind, canonical(t, e.value)); err == nil || !strings.Contains(err.Error(), member) {
			t.Errorf("%s.%s = %.40v: %v, want it refused by name", e.kind, member, v, err)
		}
	}
}

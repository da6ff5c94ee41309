package views

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"sapwell/entries"
	"sapwell/journal"
)

// told is a little history in text, as testdata/*.txt has it. A line is one of
//
//	ann v: visit.opened jobs=oak   entry v, written by the device ann
//	ann/u x: note on=visit:v       ann goes on from u: it was restored from a copy
//	ann a: amends u left_nl=5      entry u as told so far, with another member
//	ann b: amends/first u fill=1   the same from what u said at first
//	without u                      entry u has not come in
//	clock ann -24h                 ann's clock is wrong from here on
//	v.units.0.lifted = +7m         what the view of v has
//
// Every line is told a minute after the one before it. What a kind must have and
// a line does not say is made up.
type told struct {
	now     int64
	ids     map[string]journal.ID
	names   map[string]string // by id
	last    journal.ID
	clocks  map[string]int64
	entries map[string]*telling
	items   []Item
	pens    map[string]*telling
}

// telling is an entry that was told.
type telling struct {
	kind       string
	first, now map[string]any
	item       Item
}

const toldStart = 1_780_000_000_000

func newTold() *told {
	return &told{
		now: toldStart, ids: map[string]journal.ID{}, names: map[string]string{},
		clocks: map[string]int64{}, entries: map[string]*telling{}, pens: map[string]*telling{},
	}
}

// id names a thing, whether or not it is ever told.
func (h *told) id(name string) journal.ID {
	if id, ok := h.ids[name]; ok {
		return id
	}
	random := sha256.Sum256([]byte(name))
	id, err := journal.NewID(h.last, h.now, [10]byte(random[:]))
	if err != nil {
		panic(err)
	}
	h.last, h.ids[name], h.names[id.String()] = id, id, name
	return id
}

func (h *told) device(name string) journal.Hash {
	sum := journal.Hash(sha256.Sum256([]byte(name)))
	h.names[sum.String()] = name
	return sum
}

// tell obeys or checks a line.
func (h *told) tell(line string) error {
	if left, want, ok := strings.Cut(line, " = "); ok {
		return h.check(left, want)
	}
	words := strings.Fields(line)
	if words[0] == "clock" {
		off, err := time.ParseDuration(words[2])
		h.clocks[words[1]] = off.Milliseconds()
		return err
	}
	if words[0] == "without" {
		h.items = slices.DeleteFunc(h.items, func(it Item) bool { return it.ID == h.id(words[1]) })
		return nil
	}
	h.now += time.Minute.Milliseconds()
	who, name, kind := words[0], strings.TrimSuffix(words[1], ":"), words[2]
	members, args, err := h.members(kind, name, words[3:])
	if err != nil {
		return err
	}
	if verb, how, _ := strings.Cut(kind, "/"); verb == "amends" {
		kind, members = "amendment", h.amendment(args[0], how, members)
	}
	return h.write(who, name, kind, members)
}

// write makes an item of it, with its place in the chain of the device.
func (h *told) write(who, name, kind string, members map[string]any) error {
	body, err := readTold(kind, members)
	if err != nil {
		return err
	}
	device, from, _ := strings.Cut(who, "/")
	before := h.pens[device]
	if from != "" {
		before = h.entries[from]
	}
	e := entries.Entry{ID: h.id(name), Device: h.device(device), Seq: 1, Hash: sha256.Sum256(fmt.Append(nil, who, name, h.now)), Body: body}
	e.Time = h.now + h.clocks[device]
	place := Place{Time: e.Time, Device: e.Device, Seq: 1, Hash: e.Hash}
	if before != nil {
		place.Seq, place.Time = before.item.Place.Seq+1, max(place.Time, before.item.Place.Time)
		e.Seq = place.Seq
	}
	t := &telling{kind: kind, first: members, now: members, item: Item{e, place}}
	h.pens[device], h.entries[name], h.items = t, t, append(h.items, t.item)
	return nil
}

func readTold(kind string, members map[string]any) (entries.Body, error) {
	text, err := json.Marshal(members)
	if err != nil {
		return nil, err
	}
	if text, err = journal.Canonical(text); err != nil {
		return nil, err
	}
	return entries.ReadBody(kind, text)
}

func (h *told) amendment(of, how string, changes map[string]any) map[string]any {
	t := h.entries[of]
	before := t.now
	if how == "first" {
		before = t.first
	}
	after := maps.Clone(before)
	maps.Copy(after, changes)
	delete(after, "why")
	t.now = after
	return map[string]any{
		"v": 1, "of": h.id(of), "of_kind": t.kind, "why": "misread", "before": before, "after": after,
		"by": h.id("boss"),
	}
}

// defaults are what a kind must have, in the words of a line.
var defaults = map[string]string{
	"org":              "name=NAME country=US zone=America/New_York keep_years=3",
	"person":           "name=NAME roles=applicator",
	"certificate":      "person=boss sort=certificate authority=state from=2025-01-01",
	"device.enrolled":  "device=phone name=NAME",
	"device.revoked":   "device=phone through=1 why=gone",
	"grounds":          "name=NAME context=amenity",
	"tree":             "grounds=park tag=NAME species=Quercus",
	"measurement":      "tree=oak girth=1000",
	"condition":        "tree=oak",
	"wound":            "tree=oak at_nm=5",
	"closure":          "tree=oak hole=h state=open",
	"label":            "name=NAME version=2026-01-01 product=Fictional reg_no=0 file=text",
	"lot":              "label=paper number=NAME size_nl=3000000",
	"stock":            "lot=lot units=10 sort=received",
	"plan":             "tree=oak label=paper measurement=m day=2026-06-09 overall=warn engine=1 stems=[]",
	"visit.opened":     "grounds=park day=2026-06-09 certified=boss jobs=oak",
	"hole":             "visit=v tree=oak mark=0 at_nm=5 height_nm=300",
	"unit.seated":      "visit=v hole=h lot=lot fill_nl=3000000",
	"unit.pressurised": "visit=v unit=u gauge_pa=69000",
	"unit.drained":     "visit=v unit=u",
	"unit.stuck":       "visit=v unit=u left_nl=1000000",
	"unit.lifted":      "visit=v unit=u left_nl=0",
	"unit.lost":        "visit=v unit=u why=pond signed=Invented",
	"tally":            "visit=v lots=",
	"visit.closed":     "visit=v trees= signature=",
	"bag.sealed":       "visits=v mark=NAME units=1 left_low_nl=0 left_high_nl=0",
	"bag.handed":       "bag=bag to=depot",
	"note":             "on=tree:oak text=NAME",
	"photo":            "on=tree:oak sha256=NAME type=image/jpeg bytes=1 width=1 height=1",
	"record.fact":      "on=visit:v field=ref text=NAME",
	"retired":          "visit=v why=over",
}

// members reads key=value; what has no equals sign is an argument.
func (h *told) members(kind, name string, words []string) (members map[string]any, args []string, err error) {
	members = map[string]any{"v": 1}
	if by, ok := defaults[kind]; ok {
		words = append(strings.Fields(by), words...)
		if kind != "org" {
			members["by"] = h.id("boss")
		}
	}
	for _, word := range words {
		key, value, ok := strings.Cut(word, "=")
		if !ok {
			args = append(args, word)
			continue
		}
		if value == "NAME" {
			value = name
		}
		if key == "girth" {
			key, value = "stems", `[{"girth":{"around_nm":`+value+`,"height_nm":300}}]`
		}
		if members[key], err = h.value(kind, key, value); err != nil {
			return nil, nil, fmt.Errorf("%s: %w", key, err)
		}
		if value == "absent" {
			delete(members, key)
		}
	}
	return members, args, nil
}

// value reads one value. Lists of numbers are in the order of the struct.
func (h *told) value(kind, key, value string) (any, error) {
	switch key {
	case "label":
		if kind == "lot" {
			return value, nil
		}
		return h.id(value), nil
	case "visit", "tree", "hole", "unit", "lot", "bag", "grounds", "person", "certificate", "certified", "measurement", "org", "by", "supervisor", "over", "again":
		return h.id(value), nil
	case "device":
		return h.device(value), nil
	case "sha256":
		return journal.Hash(sha256.Sum256([]byte(value))), nil
	case "at":
		off, err := time.ParseDuration(value)
		return h.now + off.Milliseconds(), err
	case "on":
		sort, thing, _ := strings.Cut(value, ":")
		return entries.Subject{Kind: entries.SubjectKind(sort), ID: h.id(thing).String()}, nil
	case "signature":
		return entries.Signature{Name: "A. Invented", Meaning: "done as written"}, nil
	case "roles":
		return strings.Split(value, ","), nil
	case "gone", "left":
		return true, nil
	case "jobs", "visits", "lots", "trees":
		return h.list(key, value)
	}
	if whole.MatchString(key) && kind+key != "bag.sealedmark" {
		return strconv.ParseInt(value, 10, 64)
	}
	if strings.HasPrefix(value, "[") {
		return json.RawMessage(value), nil
	}
	return value, nil
}

// whole matches the members that are numbers.
var whole = regexp.MustCompile(`_(nm|nl|pa|percent)$|^(mark|units|through|bytes|width|height|keep_years)$`)

func (h *told) list(key, value string) (any, error) {
	all := []any{}
	for _, one := range strings.FieldsFunc(value, func(r rune) bool { return r == ',' }) {
		name, rest, _ := strings.Cut(one, ":")
		switch key {
		case "jobs":
			all = append(all, entries.Job{Tree: h.id(name), Plan: h.id("plan")})
		case "visits":
			all = append(all, h.id(name))
		case "lots":
			l := entries.TallyLot{Lot: h.id(name)}
			if err := scan(rest, &l.Taken, &l.Seated, &l.Lifted, &l.Lost, &l.Broken, &l.Unused); err != nil {
				return nil, err
			}
			all = append(all, l)
		case "trees":
			t := entries.Treated{Tree: h.id(name), Label: h.id("paper")}
			if err := scan(rest, &t.Holes, &t.Units, &t.Lifted, &t.Lost); err != nil {
				return nil, err
			}
			t.Given, t.Start, t.End = int64(t.Units), h.now, h.now
			all = append(all, t)
		}
	}
	return all, nil
}

func scan(text string, to ...*int) (err error) {
	for i, n := range strings.Split(text, "/") {
		if *to[i], err = strconv.Atoi(n); err != nil {
			return err
		}
	}
	return nil
}

// about is what speaks of a subject.
func about(items []Item, s entries.Subject) (these []Item) {
	for _, it := range items {
		if slices.Contains(it.Body.About(it.ID), s) {
			these = append(these, it)
		}
	}
	return these
}

// subjects lists all that is spoken of, each once.
func subjects(items []Item) (all []entries.Subject) {
	for _, it := range items {
		for _, s := range it.Body.About(it.ID) {
			if !slices.Contains(all, s) {
				all = append(all, s)
			}
		}
	}
	return all
}

// check holds the view of a thing against what the line says of it.
func (h *told) check(left, want string) error {
	name, path, _ := strings.Cut(left, ".")
	i := slices.IndexFunc(subjects(h.items), func(s entries.Subject) bool {
		return h.names[s.ID] == name
	})
	if i < 0 {
		return fmt.Errorf("nothing speaks of %s", name)
	}
	s := subjects(h.items)[i]
	row, err := Fold(s, about(h.items, s))
	if err != nil {
		return err
	}
	got, err := h.look(row, path)
	if err == nil && got != want {
		err = fmt.Errorf("got %s", got)
	}
	return err
}

// look finds what the path names in a row, and says ids by their names.
func (h *told) look(row Row, path string) (string, error) {
	switch path {
	case "key":
		return h.named(row.Key), nil
	case "out":
		st, err := Read(row)
		if err != nil {
			return "", err
		}
		var out []string
		for _, u := range st.(*Visit).Units {
			if u.Out() {
				out = append(out, h.names[u.ID.String()])
			}
		}
		return orNothing(out), nil
	}
	var at any
	if err := json.Unmarshal(row.State, &at); err != nil {
		return "", err
	}
	var key string
	for _, key = range strings.Split(path, ".") {
		switch in := at.(type) {
		case map[string]any:
			at = in[key]
		case []any:
			i, err := strconv.Atoi(key)
			if err != nil || i >= len(in) {
				return "nothing", nil
			}
			at = in[i]
		}
	}
	return h.say(key, at), nil
}

// moments are said as minutes since the first line.
var moments = []string{"opened", "at", "seated", "pressurised", "drained", "stuck", "lifted", "lost", "closed_at", "sealed_at", "handed_at", "time"}

func (h *told) say(key string, v any) string {
	switch v := v.(type) {
	case nil:
		return "nothing"
	case float64:
		if slices.Contains(moments, key) && v > 1000 {
			return fmt.Sprintf("+%dm", (int64(v)-toldStart)/time.Minute.Milliseconds())
		}
		return fmt.Sprint(int64(v))
	case string:
		return h.named(v)
	case []any:
		var all []string
		for _, one := range v {
			all = append(all, h.say("", one))
		}
		return orNothing(all)
	case map[string]any:
		if code, ok := v["code"]; ok {
			return fmt.Sprint(code, ":", h.say("", v["entry"]))
		}
		if of, ok := v["of"]; ok { // a mark
			return h.say("", of) + "<" + h.say("", v["entry"])
		}
		return h.say("", v["id"])
	}
	return fmt.Sprint(v)
}

func (h *told) named(text string) string {
	for id, name := range h.names {
		text = strings.ReplaceAll(text, id, name)
	}
	return text
}

func orNothing(all []string) string {
	if len(all) == 0 {
		return "nothing"
	}
	return strings.Join(all, " ")
}

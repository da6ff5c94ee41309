package views

import (
	"encoding/json"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
)

// fillIn gives every member of a value something that is not zero, or leaves out
// what may be absent, here and there.
func fillIn(r *rand.Rand, v reflect.Value, sparse bool) {
	switch p := v.Addr().Interface().(type) {
	case *journal.ID:
		for i := range p {
			p[i] = byte(r.Uint32())
		}
		p[6], p[8] = p[6]&15|0x70, p[8]&63|0x80
		return
	case *journal.Hash:
		p[0] = byte(r.Uint32())
		return
	case *entries.Date:
		*p = quantity.NewDate(2026, 6, 1+r.IntN(28))
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			_, may := v.Type().Field(i).Tag.Lookup("json")
			may = may && strings.Contains(v.Type().Field(i).Tag.Get("json"), ",omit")
			if !sparse || !may || r.IntN(2) == 0 {
				fillIn(r, v.Field(i), sparse)
			}
		}
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fillIn(r, v.Elem(), sparse)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1+r.IntN(3), 3))
		for i := range v.Len() {
			fillIn(r, v.Index(i), sparse)
		}
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		for _, key := range []string{"contract.ref", "x"} {
			value := reflect.New(v.Type().Elem()).Elem()
			fillIn(r, value, sparse)
			v.SetMapIndex(reflect.ValueOf(key), value)
		}
	case reflect.String:
		words := []string{"a", `"quoted" \ back`, "<tag> & more", "tab\tline\n", "año, 樹", "\u2028", "\x00", `,"units":[`}
		v.SetString(words[r.IntN(len(words))])
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int, reflect.Int64:
		v.SetInt([]int64{1, -1, 69_000, 1_780_000_000_000, -40}[r.IntN(5)])
	default:
		panic(v.Type().String())
	}
}

// The quick way of writing a visit gives the bytes of encoding/json, and the
// quick way of reading them what encoding/json reads.
func TestVisitsOnTheWire(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var v Visit
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		fillIn(r, reflect.ValueOf(&v).Elem(), rapid.Bool().Draw(t, "sparse"))
		quick, err := write(&v)
		if err != nil {
			t.Fatal(err)
		}
		slow, err := json.Marshal(&v)
		if err != nil || string(quick) != string(slow) {
			t.Fatalf("%v\n%s\n%s", err, quick, slow)
		}
		var back, plain Visit
		if err := readInto(&back, quick); err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(quick, &plain); err != nil || !reflect.DeepEqual(back, plain) || !reflect.DeepEqual(back, v) {
			t.Fatalf("%v\n%+v\n%+v\n%+v", err, back, plain, v)
		}
	})
}

// The quick way takes all it should: what is filled to the last member leaves
// nothing to encoding/json.
func TestQuickWayIsTaken(t *testing.T) {
	var v Visit
	fillIn(rand.New(rand.NewPCG(1, 1)), reflect.ValueOf(&v).Elem(), false)
	text, err := write(&v)
	if err != nil {
		t.Fatal(err)
	}
	var read Visit
	w := wire{text: text[strings.Index(string(text), `,"holes":[`):], reading: true}
	if read.lists(&w); w.strange || string(w.text[w.at:]) != "}" || !reflect.DeepEqual(read.Units, v.Units) || !reflect.DeepEqual(read.Holes, v.Holes) {
		t.Errorf("%v, %d bytes left of %d", w.strange, len(w.text)-w.at, len(w.text))
	}
}

// What looks different is read by encoding/json, or not at all.
func TestStrangeVisits(t *testing.T) {
	id := `"018bcfe5-6800-7000-8000-000000000000"`
	for text, want := range map[string]string{
		`{"id":"v","units":[{"id":` + id + `}]}`:                                             "ok",
		`{"id":"v","units":[{"id":` + id + `}] }`:                                            "ok",
		`{"id":"v","units":[ {"id":` + id + `}]}`:                                            "ok",
		`{"id":"v","units":[{"seated":5,"id":` + id + `}]}`:                                  "ok",
		`{"id":"v","units":[],"holes":[]}`:                                                   "ok",
		`{"id":"v","units":[{"id":` + id + `}],"opened":3}`:                                  "ok",
		`{"id":"v","units":[{"id":` + id + `,"stuck_why":"\u00e9"}]}`:                        "ok",
		`{"id":"v","units":[{"id":` + id + `,"seated":05}]}`:                                 "error",
		`{"id":"v","units":[{"id":` + id + `,"seated":1.5}]}`:                                "error",
		`{"id":"v","units":[{"id":` + id + `,"seated":99999999999999999999}]}`:               "error",
		`{"id":"v","units":[{"id":"018bcfe5-6800-1000-8000-000000000000"}]}`:                 "error", // version 1
		`{"id":"v","units":[{"id":"018bcfe5-6800-7000-8000-00000000000"}]}`:                  "error",
		`{"id":"v","units":[{"id":` + strings.ToUpper(id) + `}]}`:                            "error",
		`{"id":"v","units":[{"id":` + id + `,"stuck_why":"` + "\n" + `"}]}`:                  "error",
		`{"id":"v","units":[{"id":` + id + `,"stuck_why":"`:                                  "error",
		`{"id":"v","units":[{"id":` + id + `,"stuck_why":"\`:                                 "error",
		`{"id":"v","units":[{"id":` + id:                                                     "error",
		`{"id":"v","units":[{"id":` + id[:9]:                                                 "error",
		`{"id":"v","units":[`:                                                                "error",
		`{"id":"v" "x","units":[{"id":` + id + `}]}`:                                         "error",
		`{"id":"v","units":[{"id":` + id + `}]}}`:                                            "error",
		`{"id":"v","holes":[{"id":` + id + `,"at":-0,"facts":{}}]}`:                          "ok",
		`{"id":"v","holes":[{"id":` + id + `,"at":-,"facts":{}}]}`:                           "error",
		`{"id":"v","units":[{"id":` + id + `,"left_nl":0}]}`:                                 "ok",
		`{"id":"v","units":[{"id":` + id + `,"left_nl":}]}`:                                  "error",
		`{"id":"v","tally":{"v":1,"units":[{"id":` + id + `}]},"units":[{"id":` + id + `}]}`: "ok",
	} {
		row := Row{Subject: entries.Subject{Kind: entries.OfVisit, ID: "v"}, State: []byte(text)}
		st, err := Read(row)
		if got := map[bool]string{true: "ok", false: "error"}[err == nil]; got != want {
			t.Errorf("%s: %v, want %s", text, err, want)
		}
		var plain Visit
		if jsonErr := json.Unmarshal([]byte(text), &plain); (jsonErr == nil) != (err == nil) || err == nil && !reflect.DeepEqual(st, &plain) {
			t.Errorf("%s: %+v, encoding/json has %+v, %v", text, st, plain, jsonErr)
		}
	}
}

// What can be read can be written and read again, and then stays as it is.
func FuzzRead(f *testing.F) {
	kinds := []entries.SubjectKind{
		entries.OfOrg, entries.OfPerson, entries.OfDevice, entries.OfGrounds, entries.OfTree,
		entries.OfLabel, entries.OfLot, entries.OfVisit, entries.OfBag,
	}
	for n, kind := range kinds {
		st, err := blank(entries.Subject{Kind: kind, ID: "x"})
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(n), []byte(`{"id":"x"}`))
		for seed := range uint64(3) {
			fillIn(rand.New(rand.NewPCG(seed, 1)), reflect.ValueOf(st).Elem(), seed > 0)
			text, err := write(st)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(uint8(n), text)
		}
	}
	f.Fuzz(func(t *testing.T, n uint8, text []byte) {
		s := entries.Subject{Kind: kinds[int(n)%len(kinds)]}
		var id struct{ ID string }
		if json.Unmarshal(text, &id) == nil {
			s.ID = id.ID
		}
		st, err := read(Row{Subject: s, State: text})
		if err != nil {
			return
		}
		_ = st.Key()
		once, err := write(st)
		if err != nil {
			return // an id or a day that cannot be written
		}
		st2, _ := blank(s)
		plain, _ := blank(s)
		if err := readInto(st2, once); err != nil {
			return // what is nowhere zero in an entry may be zero here
		}
		if err := json.Unmarshal(once, plain); err != nil || !reflect.DeepEqual(st2, plain) {
			t.Fatalf("%s: %v, not as encoding/json reads it", once, err)
		}
		if twice, err := write(st2); err != nil || string(twice) != string(once) {
			t.Fatalf("%v\n%s\n%s", err, once, twice)
		}
	})
}

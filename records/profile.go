package records

import (
	"bytes"
	"cmp"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"sapwell/engine/place"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// Profile is one jurisdiction's demands.
type Profile struct {
	ID        string         `json:"id"` // such as "us-ca"
	Name      Said           `json:"name"`
	CheckedOn string         `json:"checked_on"` // the day its text was last looked at
	Places    []string       `json:"places"`     // where it holds: ISO 3166 codes; "*" is everywhere
	Sources   []why.Citation `json:"sources"`
	// Doubts are what was not read in a published text, or is open.
	Doubts []string `json:"doubts,omitempty"`
}

// Profiles lists all, in a fixed order.
func Profiles() []Profile {
	var list []Profile
	for _, j := range all().jurisdictions {
		list = append(list, j.Profile)
	}
	return list
}

// NameOf is what people read of a profile; its id where there is none of that name.
func NameOf(profile string) Said {
	for _, j := range all().jurisdictions {
		if j.ID == profile {
			return j.Name
		}
	}
	return Said{profile, profile}
}

// jurisdiction is a profile with what it asks, as its file has it.
type jurisdiction struct {
	Profile
	Versions []version `json:"versions"`
}

// version is what a jurisdiction asks of work in a time and of a kind. The first
// that fits a record counts; where none does, the profile does not apply.
type version struct {
	span
	Name    string   `json:"name"`
	When    []test   `json:"when,omitempty"`
	Asks    []ask    `json:"asks,omitempty"`
	Formats []format `json:"formats,omitempty"` // besides those of every profile
	Orders  []order  `json:"orders,omitempty"`
	Limits  []limit  `json:"limits,omitempty"`
	Duties  []duty   `json:"duties,omitempty"`
	Keep    keep     `json:"keep"`
}

// span is the days of work that something binds, both included; a zero day is open.
type span struct {
	From  quantity.Date `json:"from,omitzero"`
	Until quantity.Date `json:"until,omitzero"`
}

// holds of a day of work; where nobody knows the day, what is newest stands first.
func (s span) holds(day quantity.Date) bool {
	return day.IsZero() || !day.Before(s.From) && (s.Until.IsZero() || !day.After(s.Until))
}

// ask is one field that a version asks.
type ask struct {
	Field Field   `json:"field"`
	AnyOf []Field `json:"any_of,omitempty"` // one of these will do; empty: the field itself
	Says  Said    `json:"says"`
	When  []test  `json:"when,omitempty"`
}

// book is all the files together.
type book struct {
	order         []string // of the profiles that are shown first
	formats       []format // of every profile
	orders        []order
	also          map[Field][]also
	unplaced      Said // of a place of which it is not known which profiles hold
	undone        Said // of a duty of which it cannot be read when it was done
	jurisdictions []jurisdiction
}

//go:embed profiles/*.json
var files embed.FS

// all reads the files once: they came with the program, and a test reads each.
var all = sync.OnceValue(func() book {
	b, err := load(files)
	if err != nil {
		panic(err) // a broken file cannot pass the tests
	}
	return b
})

// load reads the files of every profile and puts them in the order in which they
// are shown; one that every.json does not list follows by name.
func load(from fs.FS) (book, error) {
	var b book
	names, err := fs.Glob(from, "profiles/*.json")
	if err != nil {
		return b, err
	}
	for _, name := range names {
		raw, err := fs.ReadFile(from, name)
		if err != nil {
			return b, err
		}
		if path.Base(name) == "every.json" {
			err = b.common(raw)
		} else {
			err = b.add(raw)
		}
		if err != nil {
			return b, fmt.Errorf("%s: %w", path.Base(name), err)
		}
	}
	b.jurisdictions = b.ordered()
	return b, nil
}

// ordered are first those that are listed, as they are listed.
func (b *book) ordered() (list []jurisdiction) {
	for _, id := range b.order {
		for _, j := range b.jurisdictions {
			if j.ID == id {
				list = append(list, j)
			}
		}
	}
	for _, j := range b.jurisdictions {
		if !slices.Contains(b.order, j.ID) {
			list = append(list, j)
		}
	}
	return list
}

func (b *book) common(raw []byte) error {
	var every struct {
		Order   []string `json:"order"`
		Formats []format `json:"formats"`
		Orders  []order  `json:"orders"`
		Also    []also   `json:"also"`
		Undone  Said     `json:"undone"`
		Place   Said     `json:"unplaced"`
	}
	err := strictly(raw, &every)
	b.order, b.formats, b.orders, b.also = every.Order, every.Formats, every.Orders, map[Field][]also{}
	for _, a := range every.Also {
		b.also[a.Field] = append(b.also[a.Field], a)
		err = cmp.Or(err, a.check())
	}
	if b.undone, b.unplaced = every.Undone, every.Place; !b.undone.whole() || !b.unplaced.whole() {
		err = cmp.Or(err, errors.New("undone, unplaced: want each in en and es"))
	}
	return cmp.Or(err, wellShaped(b.formats, b.orders))
}

func (b *book) add(raw []byte) error {
	j, err := readProfile(raw)
	if err == nil {
		b.jurisdictions = append(b.jurisdictions, j)
	}
	return err
}

// readProfile reads one file. What it does not know is an error: a rule that is
// passed over is a duty that is missed.
func readProfile(raw []byte) (jurisdiction, error) {
	var j jurisdiction
	if err := strictly(raw, &j); err != nil {
		return j, err
	}
	return j, j.check()
}

func strictly(raw []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	if dec.More() {
		return errors.New("want one object and nothing after it")
	}
	return nil
}

func (j jurisdiction) check() error {
	if j.ID == "" || !j.Name.whole() || len(j.Versions) == 0 || len(j.Places) == 0 {
		return errors.New("want id, name in en and es, places and versions")
	}
	for _, p := range j.Places {
		if !isPlace(p) {
			return fmt.Errorf("places: %q, want * or a code of ISO 3166, such as US or US-NY", p)
		}
	}
	if _, err := quantity.ParseDate(j.CheckedOn); err != nil {
		return fmt.Errorf("checked_on: %w", err)
	}
	for i, v := range j.Versions {
		if err := v.check(); err != nil {
			return fmt.Errorf("versions[%d]: %w", i, err)
		}
	}
	return nil
}

// isPlace: "*", or a code that a place as people write it comes to. One of the
// codes that ISO 3166 leaves free, such as XX, is an invented country.
func isPlace(code string) bool {
	of, within, parted := strings.Cut(code, "-")
	part, _ := place.Region(of, within)
	country := len(of) == 2 && strings.ToUpper(of) == of && place.Code(of) == of
	return code == "*" || country && (!parted || part == within)
}

// check refuses what could not be judged by.
func (v version) check() error {
	tests := slices.Clone(v.When)
	for _, a := range v.Asks {
		if a.Field == "" || !a.Says.whole() {
			return errors.New("asks: want field, and says in en and es")
		}
		tests = append(tests, a.When...)
	}
	for _, l := range v.Limits {
		if n := len(l.Fields); n < 1 || n > 2 || len(l.AtLeast) != n || l.Report == "" || !l.Says.whole() {
			return errors.New("limits: want one or two fields, at_least for each, report, and says in en and es")
		}
		tests = append(tests, l.When...)
	}
	for _, d := range v.Duties {
		if err := d.check(); err != nil {
			return err
		}
		tests = append(tests, d.When...)
	}
	if err := wellShaped(v.Formats, v.Orders); err != nil {
		return err
	}
	for _, t := range tests {
		if err := t.check(); err != nil {
			return err
		}
	}
	if v.Keep.Years < 0 || v.Keep.Years > 100 {
		return fmt.Errorf("keep: %d years, want 0 to 100", v.Keep.Years)
	}
	return nil
}

func wellShaped(formats []format, orders []order) error {
	for _, f := range formats {
		if f.Field == "" || (f.Form == "") == f.Pattern.IsZero() || !f.Says.whole() {
			return errors.New("formats: want field, one of form and pattern, and says in en and es")
		}
	}
	for _, o := range orders {
		two := len(o.Same) == 2 && o.First == "" && o.Then == "" || len(o.Same) == 0 && o.First != "" && o.Then != ""
		if !two || o.Report == "" || !o.Says.whole() {
			return errors.New("orders: want first and then, or two that are the same, report, and says in en and es")
		}
	}
	return nil
}

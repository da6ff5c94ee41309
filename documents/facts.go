package documents

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"sapwell/engine/why"
	"sapwell/records"
)

// A record's facts as a person reads them: times without seconds, measures with the
// unit's usual sign, places as north and west. No figure is converted: what stands
// there is what somebody wrote down.

// leaf is one fact of a record.
type leaf struct {
	field   records.Field
	fact    any  // text, json.Number, bool, list, or object with value and unit
	assumed bool // nobody told it
}

// leaves lists all facts of a record that are not empty, by name.
func leaves(r records.Record) []leaf {
	dec := json.NewDecoder(bytes.NewReader(r.JSON()))
	dec.UseNumber()
	var facts map[string]any
	if dec.Decode(&facts) != nil {
		return nil // an empty record
	}
	delete(facts, "amendments") // printed on their own
	return walk(nil, "", facts)
}

func walk(all []leaf, at string, facts map[string]any) []leaf {
	names := make([]string, 0, len(facts))
	for name := range facts {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		field := name
		if at != "" {
			field = at + "." + name
		}
		switch v := facts[name].(type) {
		case nil:
		case map[string]any:
			if v["value"] != nil && v["unit"] != nil {
				all = append(all, leaf{field: records.Field(field), fact: v})
			} else {
				all = walk(all, field, v)
			}
		case []any:
			if len(v) > 0 {
				all = append(all, leaf{field: records.Field(field), fact: v})
			}
		case string:
			if strings.TrimSpace(v) != "" {
				all = append(all, leaf{field: records.Field(field), fact: v})
			}
		default:
			all = append(all, leaf{field: records.Field(field), fact: v})
		}
	}
	return all
}

// fact is a fact in words.
func (v voice) fact(l leaf) string {
	switch f := l.fact.(type) {
	case string:
		return v.textFact(l.field, f)
	case bool:
		if f {
			return v.Say("value.yes")
		}
		return v.Say("value.no")
	case json.Number:
		return v.number(f) + v.unitOf(l.field)
	case []any:
		return v.listFact(l.field, f)
	case map[string]any:
		if f["value"] == nil || f["unit"] == nil {
			return v.named(f)
		}
		return strings.TrimSpace(v.fact(leaf{fact: f["value"]}) + " " + v.ucum(fmt.Sprint(f["unit"]), fmt.Sprint(f["value"])))
	}
	return ""
}

// textFact is a text: a moment, a word that the catalogue knows, or as it stands.
func (v voice) textFact(f records.Field, s string) string {
	if moment, ok := clock(s); ok {
		return moment
	}
	if f == "profiles" {
		return records.NameOf(s).In(v.lang)
	}
	return v.sayOr("fact."+string(f)+"."+s, s)
}

// sayOr is a message, or what to print where the catalogue has none.
func (v voice) sayOr(key, otherwise string) string {
	if s := v.Say(key); !strings.HasPrefix(s, "⟨") {
		return s
	}
	return otherwise
}

// clock is a moment with its offset, to the minute: "2026-05-12 15:40 −04:00".
func clock(s string) (string, bool) {
	t, err := time.Parse(time.RFC3339, s)
	if err != nil {
		return "", false
	}
	offset := strings.Replace(t.Format("-07:00"), "-", "−", 1)
	return t.Format("2006-01-02 15:04 ") + offset, true
}

// number is a figure with the decimal sign of the reader.
func (v voice) number(n json.Number) string {
	s := n.String()
	if strings.ContainsAny(s, "eE") {
		if f, err := n.Float64(); err == nil {
			s = strconv.FormatFloat(f, 'f', -1, 64)
		}
	}
	if v.style.DecimalComma {
		s = strings.Replace(s, ".", ",", 1)
	}
	return s
}

// unitOf is the unit that a field has in its name.
func (v voice) unitOf(f records.Field) string {
	switch {
	case strings.HasSuffix(string(f), "_in"):
		return " in"
	case strings.HasSuffix(string(f), "_hours"):
		return " h"
	case strings.HasSuffix(string(f), "_ft"):
		return " ft"
	case strings.HasSuffix(string(f), "_m2"):
		return " m²"
	}
	return ""
}

// listFact is a list with "; " between; a place on earth, longitude first as GeoJSON
// has it, is told as a person does.
func (v voice) listFact(f records.Field, list []any) string {
	if len(list) == 2 && strings.HasSuffix(string(f), "geo") {
		lon, err := strconv.ParseFloat(fmt.Sprint(list[0]), 64)
		lat, err2 := strconv.ParseFloat(fmt.Sprint(list[1]), 64)
		if err == nil && err2 == nil {
			return v.degrees(lat, "north", "south") + ", " + v.degrees(lon, "east", "west")
		}
	}
	var texts []string
	for _, item := range list {
		texts = append(texts, v.fact(leaf{field: f, fact: item}))
	}
	return strings.Join(texts, "; ")
}

func (v voice) degrees(d float64, up, down string) string {
	if d < 0 {
		d, up = -d, down
	}
	return decimal(d, 6, v.style) + "° " + v.Say("paper."+up)
}

// named is an object in a list: its name first, then what else it says.
func (v voice) named(f map[string]any) string {
	var texts []string
	for _, l := range walk(nil, "", f) {
		if l.field == "name" {
			texts = slices.Insert(texts, 0, v.fact(l))
		} else {
			texts = append(texts, v.fact(l))
		}
	}
	return strings.Join(texts, " ")
}

// signs are units of UCUM as people write them.
var signs = map[string]string{
	"[in_i]": "in", "[ft_i]": "ft", "[yd_i]": "yd", "[mi_i]": "mi", "[sft_i]": "sq ft", "[acr_us]": "acre",
	"[foz_us]": "fl oz", "[gal_us]": "gal", "[oz_av]": "oz", "[lb_av]": "lb", "[psi]": "psi", "[degF]": "°F",
	"Cel": "°C", "uL": "µL", "m2": "m²", "har": "ha", "deg": "°", "[mi_i]/h": "mph",
}

// ucum is a unit of UCUM as people write it behind an amount. {tree} and the like are
// words: one tree, two trees, and for each tree.
func (v voice) ucum(unit, amount string) string {
	if s := signs[unit]; s != "" {
		return s
	}
	n, _ := strconv.ParseFloat(amount, 64)
	parts := strings.Split(unit, "/")
	for i, p := range parts {
		if s := signs[p]; s != "" {
			p = s
		}
		if word, ok := strings.CutPrefix(p, "{"); ok {
			word = strings.TrimSuffix(word, "}")
			if i > 0 {
				n = 1
			}
			if said := v.Say("fact.unit."+word, why.T("n", n)); !strings.HasPrefix(said, "⟨") {
				word = said
			}
			p = word
		}
		parts[i] = p
	}
	return strings.Join(parts, "/")
}

// plainUnits writes the units in a text as people do. Only those that UCUM sets in
// brackets are certain to be units.
func plainUnits(s string) string { return bracketed.Replace(s) }

var bracketed = func() *strings.Replacer {
	var pairs []string
	for _, unit := range slices.Backward(slices.Sorted(maps.Keys(signs))) { // "[mi_i]/h" before "[mi_i]"
		if strings.HasPrefix(unit, "[") {
			pairs = append(pairs, unit, signs[unit])
		}
	}
	return strings.NewReplacer(pairs...)
}()

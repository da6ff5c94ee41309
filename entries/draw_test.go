package entries

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// drawer makes bodies by doc/entry-kinds.md, not by the structs.
type drawer struct {
	page
	rt *rapid.T
	t  testing.TB
}

func (d drawer) object(rows []row) map[string]any {
	o := map[string]any{}
	for _, r := range rows {
		if r.optional() && !rapid.Bool().Draw(d.rt, r.member+"?") {
			continue
		}
		if v := d.value(r); v != nil {
			o[r.member] = v
		}
	}
	return o
}

func (d drawer) value(r row) any {
	typ, list := r.base()
	if !list {
		return d.one(r, typ)
	}
	least := 0
	if r.optional() || r.member == "roles" || r.member == "stems" || r.member == "visits" {
		least = 1
	}
	items := []any{}
	for range rapid.IntRange(least, 3).Draw(d.rt, r.member+" items") {
		items = append(items, d.one(r, typ))
	}
	return items
}

func (d drawer) one(r row, typ string) any {
	if rows := d.tables[typ]; rows != nil {
		return d.object(rows)
	}
	switch typ {
	case "id":
		return id(byte(rapid.IntRange(0, 255).Draw(d.rt, r.member))).String()
	case "name":
		return id(200).String()
	case "hash":
		return rapid.StringMatching(`[0-9a-f]{63}1`).Draw(d.rt, r.member)
	case "line":
		return d.text(r, "")
	case "remark":
		return d.text(r, "\n\t")
	case "file":
		return d.text(r, "\n\t\r")
	case "flag":
		return true
	case "day":
		return rapid.StringMatching(`(19|20|21)[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|1[0-9]|2[0-8])`).Draw(d.rt, r.member)
	case "one of":
		return rapid.SampledFrom(strings.Split(r.accepted, ", ")).Draw(d.rt, r.member)
	case "answer":
		return rapid.SampledFrom([]string{"yes", "no"}).Draw(d.rt, r.member)
	case "country", "money":
		return map[string]string{"country": "CA", "money": "CAD"}[typ]
	case "zone":
		return rapid.StringMatching(`[A-Z][a-z]{2,9}/[A-Z][a-z_]{2,9}`).Draw(d.rt, r.member)
	case "dotted":
		return rapid.StringMatching(`[a-z0-9_]{1,20}(\.[a-z0-9_]{1,20}){0,2}`).Draw(d.rt, r.member)
	case "whole", "count", "moment":
		return d.number(r)
	}
	d.t.Fatalf("%s: no way to draw a %s", r.member, typ)
	return nil
}

func (d drawer) number(r row) any {
	low, high := r.bounds(d.t)
	n := rapid.OneOf(rapid.Int64Range(low, high), rapid.SampledFrom([]int64{low, high})).Draw(d.rt, r.member)
	if _, list := r.base(); n == 0 && r.optional() && !list && !strings.HasSuffix(r.typ, "??") {
		return nil // is left out
	}
	return n
}

func (d drawer) text(r row, control string) string {
	most, err := strconv.Atoi(r.accepted)
	if err != nil {
		d.t.Fatalf("%s: length %q", r.member, r.accepted)
	}
	runes := rapid.RuneFrom([]rune("aZ9 \"\\/<>&'{}[]:,é\u2028\ufffd\uffff🌲" + control))
	return "x" + rapid.StringOfN(runes, 0, min(most-1, 40), -1).Draw(d.rt, r.member)
}

// body draws one and keeps what the page says in words.
func (d drawer) body(kind string) map[string]any {
	o := d.object(d.page.body(kind))
	if thing := map[string]string{"certificate": "certificate", "grounds": "grounds", "lot": "lot", "org": "org", "person": "person", "tree": "tree"}[kind]; thing != "" && o[thing] == nil {
		delete(o, "over")
	}
	switch kind {
	case "person":
		o["roles"] = o["roles"].([]any)[:1]
		delete(o, "supervisor")
	case "certificate":
		o["from"] = "1900-01-01"
	case "lot":
		delete(o, "coldest_mk")
	case "stock":
		o["money"] = "USD"
		if n := o["units"].(int64); n < 0 {
			o["units"] = -n
		}
	case "measurement":
		for _, s := range o["stems"].([]any) {
			s.(map[string]any)["girth"].(map[string]any)["around_nm"] = 30_000_000_000
		}
	case "plan":
		if _, ok := o["full"]; ok {
			o["full"] = `{"units":16}`
		}
		for _, s := range o["stems"].([]any) {
			delete(s.(map[string]any), "heights_nm")
			delete(s.(map[string]any), "depth_max_nm")
			delete(s.(map[string]any), "p50_ms")
		}
	case "visit.closed":
		for _, x := range o["trees"].([]any) {
			treated := x.(map[string]any)
			treated["lost"], treated["lifted"], treated["start"] = 0, treated["units"], 0
		}
	case "bag.sealed":
		o["left_low_nl"] = 0
	}
	for _, name := range []string{"note", "photo", "record.fact"} {
		if kind == name && o["on"].(map[string]any)["kind"] == "device" {
			o["on"].(map[string]any)["id"] = strings.Repeat("0f", 32)
		}
	}
	return o
}

// amendment draws two bodies of a kind around the other members.
func (d drawer) amendment() map[string]any {
	rows := d.page.body("amendment")
	rows = rows[:len(rows)-2]
	o := d.object(rows)
	kind := rapid.SampledFrom([]string{"note", "stock", "visit.opened", "tree"}).Draw(d.rt, "of_kind")
	o["of_kind"], o["before"], o["after"] = kind, d.body(kind), d.body(kind)
	if fmt.Sprint(o["before"]) == fmt.Sprint(o["after"]) {
		o["after"].(map[string]any)["at"] = 5
		o["before"].(map[string]any)["at"] = 6
	}
	return o
}

// Whatever the page admits is read and written again byte for byte; with a
// member too many, or without one that must be there, it is refused by name.
func TestWhatThePageAdmitsIsRead(t *testing.T) {
	p := readPage(t)
	for _, kind := range Kinds() {
		t.Run(kind, rapid.MakeCheck(func(rt *rapid.T) {
			d := drawer{p, rt, t}
			o := map[string]any{}
			if kind == "amendment" {
				o = d.amendment()
			} else {
				o = d.body(kind)
			}
			body := canonical(t, o)
			b, err := ReadBody(kind, body)
			if err != nil {
				rt.Fatalf("%s: %v", body, err)
			}
			again, err := WriteBody(b)
			if err != nil || !bytes.Equal(again, body) {
				rt.Fatalf("%s\n came back as %s, %v", body, again, err)
			}
			o["wholly_new"] = 1
			refusedFor(rt, kind, canonical(t, o), "wholly_new")
			delete(o, "wholly_new")
			gone := rapid.SampledFrom(p.body(kind)).Draw(rt, "gone")
			if delete(o, gone.member); !gone.optional() {
				refusedFor(rt, kind, canonical(t, o), gone.member)
			}
		}))
	}
}

func refusedFor(rt *rapid.T, kind string, body []byte, member string) {
	if _, err := ReadBody(kind, body); err == nil || !strings.Contains(err.Error(), member) {
		rt.Fatalf("%s: %v, want it refused for %s", body, err, member)
	}
}

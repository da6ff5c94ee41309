package records

import (
	"fmt"
	"slices"
	"testing"

	"sapwell/internal/outside"
)

// A growth stage is a text of two digits or a number; BBCH has none of three digits
// in its general scale, and none with a part (Meier, BBCH monograph, 2018).
func TestStageAsTextOrNumber(t *testing.T) {
	for stage, sound := range map[string]bool{
		`"07"`: true, `"69"`: true, `7`: true, `69`: true, `0`: true, `99`: true,
		`"7"`: false, `"690"`: false, `100`: false, `-1`: false, `6.9`: false, `"6a"`: false, `true`: false, `[69]`: false,
	} {
		r := changed(t, `{"label":{"stage_restricted":true},"crop":{"bbch":`+stage+`}}`)
		got := found(r)["eu-2023-564"]
		if slices.Contains(got, "MISSING:crop.bbch") || slices.Contains(got, "INVALID:crop.bbch") == sound {
			t.Errorf("%s: %v", stage, got)
		}
	}
	outside.Ran(t, "BBCH monograph (Meier 2018), principal stages 0 to 9 of two digits", "growth stages as text and as number")
}

// The spot rule of 7 CFR 110.3 (to 10 July 2025) ends at a tenth of an acre,
// 404.6856 m2: an acre is 43,560 square feet, 4,840 square yards, 0.40468564 ha (NIST
// SP 811, B.8), however the area is written, and the rule holds in no nursery.
func TestOtherNames(t *testing.T) {
	spot := func(change string) bool {
		r := changed(t, `{"date":"2025-06-01","recorded_at":"2025-06-01","customer_copy":{"given_at":"2025-06-02"},`+change+`}`)
		return slices.Contains(Asked("us-fed-rup", r), "site.spot_description")
	}
	for change, want := range map[string]bool{
		`"area":{"footprint_m2":404}`:                                                 true,
		`"area":{"footprint_m2":405}`:                                                 false,
		`"area":{"spot_m2":404}`:                                                      true,
		`"ctx":{"spot_area_m2":404}`:                                                  true,
		`"ctx":{"footprint_m2":405}`:                                                  false,
		`"area":{"footprint":{"value":404,"unit":"m2"}}`:                              true,
		`"area":{"footprint":{"value":4355,"unit":"[sft_i]"}}`:                        true,
		`"area":{"footprint":{"value":4357,"unit":"[sft_i]"}}`:                        false,
		`"area":{"size":{"value":0.0999,"unit":"[acr_us]"}}`:                          true,
		`"area":{"size":{"value":0.1001,"unit":"[acr_us]"}}`:                          false,
		`"area":{"size":{"value":0.0999,"unit":"[acr_br]"}}`:                          true,
		`"area":{"size":{"value":0.0404,"unit":"har"}}`:                               true,
		`"area":{"size":{"value":0.0406,"unit":"har"}}`:                               false,
		`"area":{"size":{"value":1,"unit":"{tree}"}}`:                                 false,
		`"area":{"footprint":{"value":1,"unit":"furlong"}}`:                           false,
		`"area":{"spot_m2":404},"ctx":{"nursery":true}`:                               false,
		`"area":{"spot_m2":404},"ctx":{"greenhouse":false}`:                           true,
		`"area":{"spot_m2":404},"ctx":{"greenhouse":false,"nursery":true}`:            false,
		`"area":{"spot_m2":404},"ctx":{"greenhouse_or_nursery":false,"nursery":true}`: true, // its own name first
		`"area":{"spot_m2":404},"site":{"context":"nursery"}`:                         false,
		`"area":{"spot_m2":404},"site":{"context":"residential"}`:                     true,
	} {
		if got := spot(change); got != want {
			t.Errorf("%s: spot rule %t", change, got)
		}
	}
	outside.Ran(t, "NIST SP 811, appendix B.8; UCUM", "a tenth of an acre in other units, and other names of the same")
}

// An orchard produces an agricultural commodity, said or not; a longer deadline may
// stand beside the record. The record keeps what was written.
func TestOtherNamesOfThePlace(t *testing.T) {
	r := changed(t, `{"site":{"context":"orchard"}}`)
	if got := found(r)["us-ca"]; !slices.Contains(got, "MISSING:site.trs") {
		t.Errorf("an orchard in California: %v", got)
	}
	if got := found(changed(t, `{"site":{"context":"orchard"},"ctx":{"agricultural":false}}`))["us-ca"]; slices.Contains(got, "MISSING:site.trs") {
		t.Errorf("what is said goes first: %v", got)
	}
	late := changed(t, `{"electronic_at":"2026-06-26T09:00:00+02:00","as_of":"2026-07-01","ms_long_deadline":true}`)
	if got := found(late)["eu-2023-564"]; len(got) > 0 {
		t.Errorf("%v", got)
	}
	before := string(late.JSON())
	if Check(late); string(late.JSON()) != before {
		t.Error("the check changed the record")
	}
}

// What cannot be looked up is refused when the file is read.
func TestAlsoRefuses(t *testing.T) {
	for _, a := range []also{{}, {Field: "a"}, {Keys: []Field{"b"}}, {Field: "a", Keys: []Field{"a"}}, {Field: "a", Keys: []Field{"b"}, In: "ft2"}} {
		if a.check() == nil {
			t.Error(fmt.Sprint(a), "is taken")
		}
	}
}

package records

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
)

// also is under which other names a fact is taken, where it does not stand under its
// own. The record keeps it as it was written.
type also struct {
	Field Field   `json:"field"`
	Keys  []Field `json:"keys"`
	// Is: any of these texts there makes the fact true, another one false.
	Is []string `json:"is,omitempty"`
	// In is the unit of a plain number; an amount is brought into it, one of no such
	// unit is passed over.
	In string `json:"in,omitempty"`
}

func (a also) check() error {
	if a.Field == "" || len(a.Keys) == 0 || slices.Contains(a.Keys, a.Field) {
		return errors.New("also: want field, and keys that are others")
	}
	if a.In != "" && a.In != squareMetre {
		return fmt.Errorf("also: %s: in is %q, want m2", a.Field, a.In)
	}
	return nil
}

// find is the fact under another name; nil where it stands under none.
func (a also) find(r Record) any {
	var found any
	for _, key := range a.Keys {
		fact := r.written(key)
		switch {
		case empty(fact):
		case len(a.Is) > 0:
			found = found == true || slices.Contains(a.Is, line(fact))
		case a.In == "":
			return fact
		default:
			if n := squareMetres(fact); n != "" {
				return n
			}
		}
	}
	return found
}

const squareMetre = "m2"

// squareMetres of a number, which is that already, or of an amount in a UCUM unit of
// area; "" of anything else. The foot and the acre of units are exact by the
// international foot of 0.3048 m, the acre of [acr_us] by the US survey foot.
func squareMetres(fact any) json.Number {
	if n, ok := fact.(json.Number); ok {
		return n
	}
	object, _ := fact.(map[string]any)
	unit, _ := object["unit"].(string)
	const surveyFoot = 1200.0 / 3937
	factor := 1.0
	switch unit {
	case squareMetre:
	case "har":
		factor = 10_000
	case "[sft_i]":
		factor = 0.3048 * 0.3048
	case "[acr_br]":
		factor = 4840 * 0.9144 * 0.9144
	case "[acr_us]":
		factor = 43_560 * surveyFoot * surveyFoot
	default:
		return ""
	}
	n, numeric := number(object["value"])
	if !numeric {
		return ""
	}
	return json.Number(strconv.FormatFloat(n*factor, 'f', -1, 64))
}

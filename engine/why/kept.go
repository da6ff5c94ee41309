package why

import (
	"encoding/json"
	"math"

	"sapwell/engine/quantity"
)

// Alive is what a value of a term was before it became JSON, as encoding/json reads it
// into an any: {"value": 12, "unit": "mm"} is a measure again, {"low": …, "high": …} a
// range, 16 a whole number; all else stays as it is.
func Alive(v any) any {
	switch v := v.(type) {
	case float64:
		if v == math.Trunc(v) && math.Abs(v) < 1<<53 {
			return int(v)
		}
	case []any:
		for i := range v {
			v[i] = Alive(v[i])
		}
	case map[string]any:
		if low, high := v["low"], v["high"]; len(v) == 2 && low != nil && high != nil {
			return [2]any{Alive(low), Alive(high)}
		}
		return measure(v)
	}
	return v
}

// Revive makes the values of terms alive.
func Revive(terms []Term) {
	for i := range terms {
		terms[i].Value = Alive(terms[i].Value)
	}
}

// measure is an object with value and unit as the quantity it was written from.
func measure(v map[string]any) any {
	var read func([]byte) (any, error)
	switch v["unit"] { // package quantity writes each kind in one unit
	case "mm":
		read = as[quantity.Length]
	case "mL":
		read = as[quantity.Volume]
	case "g":
		read = as[quantity.Mass]
	case "min":
		read = as[quantity.Span]
	case "kPa":
		read = as[quantity.Pressure]
	case "Cel":
		read = as[quantity.Temperature]
	case "deg":
		read = as[quantity.Angle]
	case "mL/cm":
		read = as[quantity.VolumePerLength]
	case "g/cm":
		read = as[quantity.MassPerLength]
	case "g/L":
		read = as[quantity.MassPerVolume]
	}
	if _, has := v["value"]; !has || len(v) != 2 || read == nil {
		return v
	}
	if text, err := json.Marshal(v); err == nil {
		if q, err := read(text); err == nil {
			return q
		}
	}
	return v
}

func as[T any](text []byte) (any, error) {
	var v T
	err := json.Unmarshal(text, &v)
	return v, err
}

package why

import (
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"sapwell/engine/quantity"
)

// A value that was written as JSON is again what it was before.
func TestAlive(t *testing.T) {
	for _, v := range []any{
		25 * quantity.Millimetre, 4 * quantity.Millilitre, quantity.Gram, 90 * quantity.Minute, quantity.Pressure(68948), quantity.Temperature(295.15), quantity.Angle(math.Pi / 4),
		quantity.VolumePerLength{Volume: quantity.Millilitre, Per: quantity.Centimetre}, 7, 2.5, "IRAC 6", true, nil, []any{3 * quantity.Inch, 16},
	} {
		text, err := json.Marshal(T("x", v))
		if err != nil {
			t.Fatal(err)
		}
		var read Term
		if err := json.Unmarshal(text, &read); err != nil {
			t.Fatal(err)
		}
		if got := Alive(read.Value); !reflect.DeepEqual(got, v) {
			t.Errorf("%s is %v (%T), want %v (%T)", text, got, got, v, v)
		}
	}
	for text, want := range map[string]any{
		`{"low":{"value":6,"unit":"mm"},"high":{"value":9,"unit":"mm"}}`: [2]any{6 * quantity.Millimetre, 9 * quantity.Millimetre},
		`{"value":"x","unit":"mm"}`:                                      map[string]any{"value": "x", "unit": "mm"},
		`{"value":1,"unit":"furlong"}`:                                   map[string]any{"value": 1.0, "unit": "furlong"},
		`{"value":1,"unit":7}`:                                           map[string]any{"value": 1.0, "unit": 7.0},
		`{"value":1}`:                                                    map[string]any{"value": 1.0},
	} {
		var v any
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		if got := Alive(v); !reflect.DeepEqual(got, want) {
			t.Errorf("%s is %v, want %v", text, got, want)
		}
	}
}

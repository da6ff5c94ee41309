package bore

import (
	"slices"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// A chain is complete when what stands in it suffices to work the result out
// again by hand: depth in the wood = stop × cos 45° − bark (cos 45° = 0.70711,
// any table), rings = depth over width, told in whole rings.
func TestWhyCanBeWorkedOut(t *testing.T) {
	r := Compute(shallow(t, "Fraxinus americana"))
	wood := child(t, r.Why, "bore.wood_depth")
	given := terms(wood)
	stop, bark := given["stop"].(quantity.Length), given["bark"].(quantity.Length)
	near(t, "depth in the wood, mm", wood.Result.Value.(quantity.Length).Millimetres(), 0.70711*stop.Millimetres()-bark.Millimetres(), 0.01)

	rings := child(t, r.Why, "bore.rings")
	given = terms(rings)
	few := float64(given["wood_low"].(quantity.Length)) / float64(given["ring_wide"].(quantity.Length))
	many := float64(given["wood_high"].(quantity.Length)) / float64(given["ring_narrow"].(quantity.Length))
	told := rings.Result.Value.([2]int)
	if float64(told[0]) > few || few >= float64(told[0]+1) || float64(told[1]) < many || many <= float64(told[1]-1) {
		t.Errorf("rings %v told of %.2f to %.2f", told, few, many)
	}
}

func child(t *testing.T, r why.Reason, rule string) why.Reason {
	t.Helper()
	i := slices.IndexFunc(r.Because, func(b why.Reason) bool { return b.Rule == rule })
	if i < 0 {
		t.Fatalf("no %s among the reasons", rule)
	}
	return r.Because[i]
}

func terms(r why.Reason) map[string]any {
	m := map[string]any{}
	for _, t := range r.Inputs {
		m[t.Name] = t.Value
	}
	return m
}

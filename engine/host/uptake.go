package host

import "sapwell/engine/why"

// uptakeOf ranks the fourteen species whose uptake was measured: Sinclair and
// Larsen 1981, water at 0.7 kgf/cm² (10 psi) in holes of 11 × 40 mm, mL a
// minute and hole, five trees a species. The figures behind each rank are the
// paper's late-September and late-June means ("-": not legible in the copy
// read). The cut points on their mean are this project's own: 100, 50 and 10.
// A micro-injection hole is a fraction of that size, so the figures rank
// species and predict no minutes; and the paper found the rate to follow vessel
// frequency and density of the wood, not ring- or diffuse-porous arrangement.
//
// An unmeasured species of a genus of which the one that was measured is very
// slow is taken to be as slow (own convention): a crew that reckons with too long
// a drain loses an hour, one that reckons with too short a drain leaves units
// behind. The fast ranks are not passed on.
func uptakeOf(species, genus string) Sourced[Uptake] {
	switch species {
	case "Tilia americana", // 164, 188
		"Crataegus crus-galli", // 200, 107
		"Prunus serotina":      // 227, 43
		return Sourced[Uptake]{Fast, why.Sinclair1981}
	case "Ulmus americana", // 108, 87
		"Fagus grandifolia", // 107, 86
		"Quercus rubra",     // 116, 45
		"Betula lenta",      // 89, 63
		"Quercus alba":      // 91, 22
		return Sourced[Uptake]{Medium, why.Sinclair1981}
	case "Acer saccharum", // 32, 31
		"Robinia pseudoacacia": // 27, -
		return Sourced[Uptake]{Slow, why.Sinclair1981}
	case "Fraxinus americana", // 8, 3
		"Juglans cinerea", // 4, 4
		"Carya ovata",     // 0, -
		"Pinus strobus":   // 0, 1
		return Sourced[Uptake]{VerySlow, why.Sinclair1981}
	}
	switch genus {
	case "Fraxinus", "Juglans", "Carya", "Pinus":
		return Sourced[Uptake]{VerySlow, why.Own}
	}
	return Sourced[Uptake]{Value: UnknownUptake}
}

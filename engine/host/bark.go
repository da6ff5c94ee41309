package host

import (
	"math"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// The ratio dib/dob of the linear model is held within these bounds, as the
// growth model that publishes the coefficients does.
const (
	leastRatio = 0.80
	mostRatio  = 0.99
)

// Thickness is radial bark thickness, (dob − dib)/2, predicted by each model
// there is from diameter outside bark: raile = dob·(1 − k)/2, clark from
// dib = a + b·dob in inches. nil: no such model, or dob is not positive.
//
// Both models were fitted at breast height on forest trees. At the flare, and
// in deep fissured bark, they are off by far more than their digits suggest:
// good for pre-setting a drill, no replacement for a probe.
func (m BarkModel) Thickness(dob quantity.Length) (raile, clark *quantity.Length) {
	if dob <= 0 {
		return nil, nil
	}
	if m.RatioK > 0 {
		raile = bark(dob, m.RatioK)
	}
	if m.LinearB > 0 {
		ratio := (m.LinearA + m.LinearB*dob.Inches()) / dob.Inches()
		clark = bark(dob, min(max(ratio, leastRatio), mostRatio))
	}
	return raile, clark
}

// bark turns a ratio dib/dob into radial thickness.
func bark(dob quantity.Length, ratio float64) *quantity.Length {
	b := quantity.Length(math.Round(float64(dob) * (1 - ratio) / 2))
	return &b
}

// barkOf gathers the models of a species, or those of its genus when it has
// none of its own.
func barkOf(species, genus string) Sourced[BarkModel] {
	m := BarkModel{RatioK: raile(species)}
	m.LinearA, m.LinearB = clark(species)
	if m == (BarkModel{}) || species == genus {
		m.RatioK = raile(genus)
		m.LinearA, m.LinearB = clark(genus)
		m.OfGenus = m != (BarkModel{})
	}
	switch {
	case m.RatioK > 0:
		return Sourced[BarkModel]{m, why.Raile1982}
	case m.LinearB > 0:
		return Sourced[BarkModel]{m, why.Clark1991}
	}
	return Sourced[BarkModel]{}
}

// raile is k = dib/dob of Raile 1982 (USDA Forest Service Research Paper
// NC-224), as tabulated for the Lake States species in the public-domain
// coefficient file ls/src/blkdat.f of USDAForestService/ForestVegetationSimulator.
// 0: not in that list. A genus stands here where the list has the genus.
func raile(name string) float64 {
	switch name {
	case "Pinus banksiana", "Pinus sylvestris", "Pinus resinosa", "Pinus strobus", "Tsuga canadensis",
		"Juniperus virginiana", "Quercus alba", "Quercus bicolor", "Quercus macrocarpa", "Quercus muehlenbergii":
		return 0.91
	case "Fraxinus americana", "Tilia americana", "Quercus rubra", "Quercus velutina", "Quercus ellipsoidalis",
		"Populus grandidentata", "Populus tremuloides", "Populus balsamifera",
		"Acer negundo", "Acer pensylvanicum", "Acer spicatum", "Carpinus caroliniana", "Castanea dentata",
		"Celtis occidentalis", "Cornus florida", "Crataegus", "Crataegus crus-galli", "Malus", "Nyssa sylvatica",
		"Platanus occidentalis", "Prunus", "Prunus virginiana", "Salix", "Salix nigra", "Sassafras albidum":
		return 0.92
	case "Populus deltoides", "Ulmus americana", "Ulmus rubra", "Ulmus thomasii":
		return 0.93
	case "Fraxinus nigra", "Fraxinus pennsylvanica",
		"Acer saccharinum", "Acer rubrum", "Acer saccharum", "Acer nigrum", "Prunus serotina",
		"Betula alleghaniensis", "Betula papyrifera", "Fagus grandifolia",
		"Carya cordiformis", "Carya glabra", "Carya ovata", "Juglans cinerea", "Juglans nigra",
		"Ostrya virginiana", "Robinia pseudoacacia", "Abies balsamea", "Picea mariana", "Larix laricina":
		return 0.94
	case "Picea glauca", "Picea abies", "Thuja occidentalis":
		return 0.95
	}
	return 0
}

// clark is a and b of dib = a + b·dob in inches, Clark 1991 (USDA Forest
// Service, Southeastern Research Paper), table 9, by index of the southern
// species list as transcribed in sn/src/bratio.f and named in
// sn/src/blkdat.f of USDAForestService/ForestVegetationSimulator. b = 0: not in
// that list. Where the list has a genus ("hickory species") its figures stand
// under the genus and under the American species it means.
func clark(name string) (a, b float64) {
	switch name {
	case "Acer", "Acer negundo", "Acer rubrum", "Acer saccharinum", "Acer saccharum": // 18-22
		return -0.09800, 0.94646
	case "Fraxinus", "Fraxinus pennsylvanica": // 34, 37
		return -0.34316, 0.93964
	case "Fraxinus americana": // 35
		return -0.48735, 0.93847
	case "Ulmus", "Ulmus alata", "Ulmus americana", "Ulmus rubra": // 84-87
		return -0.42027, 0.96305
	case "Tilia", "Tilia americana": // 83
		return -0.35979, 0.95322
	case "Betula", "Betula lenta", "Betula alleghaniensis", "Betula papyrifera", "Betula nigra": // 24, 25
		return 0.21790, 0.92290
	case "Carya", "Carya cordiformis", "Carya glabra", "Carya ovata", "Carya illinoinensis": // 27
		return -0.60912, 0.94347
	case "Juglans cinerea", "Juglans nigra", "Gleditsia triacanthos", // 42, 43, 38
		"Ostrya virginiana", "Diospyros virginiana": // 56, 32
		return -0.42001, 0.94264
	case "Fagus grandifolia", "Carpinus caroliniana": // 33, 26
		return -0.13040, 0.97071
	case "Celtis", "Celtis occidentalis": // 29
		return -0.18338, 0.95768
	case "Aesculus", "Aesculus glabra": // 23
		return -0.35332, 0.95955
	case "Liquidambar styraciflua": // 44
		return -0.39271, 0.95997
	case "Liriodendron tulipifera": // 45
		return -0.22976, 0.92408
	case "Magnolia", "Magnolia grandiflora": // 46, 48
		return -0.21140, 0.94461
	case "Magnolia virginiana": // 49
		return -0.17978, 0.92381
	case "Platanus occidentalis": // 59
		return -0.09192, 0.96411
	case "Fraxinus nigra", "Populus", "Populus deltoides", "Populus grandidentata", // 36, 60, 60, 61
		"Salix", "Salix nigra", "Sassafras albidum": // 81, 81, 82
		return -0.25063, 0.94349
	case "Prunus serotina": // 62
		return -0.12958, 0.94152
	case "Robinia pseudoacacia": // 80
		return -0.37166, 0.89193
	case "Catalpa", "Catalpa speciosa", "Cercis canadensis", "Cornus florida", // 28, 28, 30, 31
		"Ilex opaca", "Malus", "Morus", "Morus rubra": // 41, 51, 52, 52
		return -0.33014, 0.94215
	case "Nyssa sylvatica": // 54
		return 0.19899, 0.88941
	}
	if a, b = clarkOak(name); b > 0 {
		return a, b
	}
	return clarkConifer(name)
}

// clarkOak is clark for the oaks.
func clarkOak(name string) (a, b float64) {
	switch name {
	case "Quercus alba": // 63
		return -0.24096, 0.93789
	case "Quercus coccinea": // 64
		return -0.40860, 0.94613
	case "Quercus falcata": // 65
		return -0.42141, 0.93008
	case "Quercus michauxii": // 71
		return -0.49699, 0.94832
	case "Quercus muehlenbergii": // 72
		return -0.34225, 0.93494
	case "Quercus nigra": // 73
		return -0.30330, 0.95826
	case "Quercus montana": // 74
		return -0.43197, 0.92120
	case "Quercus rubra": // 75
		return -0.52266, 0.95215
	case "Quercus shumardii": // 76
		return -0.61021, 0.95803
	case "Quercus stellata": // 77
		return -0.26493, 0.91899
	case "Quercus velutina", "Quercus virginiana": // 78, 79
		return -0.70754, 0.94821
	}
	return 0, 0
}

// clarkConifer is clark for the conifers.
func clarkConifer(name string) (a, b float64) {
	switch name {
	case "Abies", "Abies balsamea": // 1
		return 0.05119, 0.89372
	case "Juniperus", "Juniperus virginiana", "Taxodium distichum": // 2, 2, 15
		return -0.27012, 0.97546
	case "Picea", "Picea glauca": // 3
		return -0.17289, 0.91572
	case "Pinus echinata": // 5
		return -0.44121, 0.93045
	case "Pinus elliottii": // 6
		return -0.55073, 0.91887
	case "Pinus palustris": // 8
		return -0.45903, 0.92746
	case "Pinus strobus": // 12
		return -0.31608, 0.92054
	case "Pinus taeda": // 13
		return -0.48140, 0.91413
	case "Pinus virginiana": // 14
		return -0.31137, 0.95011
	case "Tsuga", "Tsuga canadensis": // 17
		return -0.04931, 0.92272
	}
	return 0, 0
}

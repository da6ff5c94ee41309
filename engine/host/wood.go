package host

import "sapwell/engine/why"

// anatomyOf classes the wood of a genus; "" and no source where no class was
// found. The genera under why.PorosityTexts were read in published
// wood-identification texts; the others are from memory.
//
// Maples to tulip tree and the true hickories hold for the whole genus.
// Exceptions by species stand in exceptionalWood.
func anatomyOf(genus string) Sourced[Anatomy] {
	switch genus {
	case "Quercus", "Fraxinus", "Ulmus", "Castanea", "Carya":
		return Sourced[Anatomy]{RingPorous, why.PorosityTexts}
	case "Juglans", "Notholithocarpus":
		return Sourced[Anatomy]{SemiRingPorous, why.PorosityTexts}
	case "Acer", "Betula", "Tilia", "Liriodendron", "Platanus", "Alnus", "Populus":
		return Sourced[Anatomy]{DiffusePorous, why.PorosityTexts}
	case "Robinia", "Gleditsia", "Gymnocladus", "Celtis", "Morus", "Maclura", "Sassafras",
		"Ailanthus", "Catalpa", "Paulownia", "Zelkova", "Koelreuteria", "Toona":
		return Sourced[Anatomy]{RingPorous, why.Memory}
	case "Diospyros":
		return Sourced[Anatomy]{SemiRingPorous, why.Memory}
	case "Fagus", "Magnolia", "Liquidambar", "Nyssa", "Aesculus", "Carpinus", "Ostrya", "Cornus",
		"Malus", "Pyrus", "Crataegus", "Sorbus", "Salix", "Olea", "Citrus", "Persea", "Eucalyptus", "Ilex":
		return Sourced[Anatomy]{DiffusePorous, why.Memory}
	case "Pinus", "Picea", "Abies", "Tsuga", "Pseudotsuga", "Larix", "Cedrus", "Thuja", "Juniperus",
		"Cupressus", "Taxodium", "Sequoia", "Metasequoia", "Ginkgo", "Calocedrus":
		return Sourced[Anatomy]{Tracheid, why.Memory}
	case "Phoenix", "Washingtonia", "Cocos":
		return Sourced[Anatomy]{Palm, why.Memory}
	}
	return Sourced[Anatomy]{}
}

// exceptionalWood are species whose wood is not that of their genus: pecan
// among the hickories and black cherry (one published text calls it
// semi-ring-porous, others diffuse-porous), and the evergreen oaks.
func exceptionalWood(species string) (Sourced[Anatomy], bool) {
	switch species {
	case "Carya illinoinensis", "Prunus serotina":
		return Sourced[Anatomy]{SemiRingPorous, why.PorosityTexts}, true
	case "Quercus virginiana", "Quercus agrifolia", "Quercus ilex":
		return Sourced[Anatomy]{SemiRingPorous, why.Memory}, true
	}
	return Sourced[Anatomy]{}, false
}

package host

import "sapwell/engine/why"

// flag is a yes-or-no fact with its source folded in.
type flag uint8

const (
	nk    flag = iota // not known here
	no                // no, from memory
	yes               // yes, from memory
	sure              // yes, common practice
	apple             // yes, residues followed into nectar and pollen of apple
)

// fact unfolds a flag.
func (f flag) fact() Sourced[bool] {
	switch f {
	case no:
		return Sourced[bool]{false, why.Memory}
	case yes:
		return Sourced[bool]{true, why.Memory}
	case sure:
		return Sourced[bool]{true, why.CommonPractice}
	case apple:
		return Sourced[bool]{true, why.Pest2019Apple}
	}
	return Sourced[bool]{}
}

// row is one line of the table: names, code, and the flags food, tapped, bees.
// No row says no to bees: a wind-pollinated tree is visited for pollen too, so
// where bees are not known to come it is "not known".
type row struct {
	sci, common string
	also        []string
	code        Code
	food        flag
	tapped      flag
	bees        flag
}

// read is a code that was read together with its name in a published list;
// recalled is one from memory.
func read(eppo string) Code     { return Code{eppo, true} }
func recalled(eppo string) Code { return Code{eppo, false} }

// none is a kind without a code here.
func none() Code { return Code{} }

// table lists the kinds by scientific name. Names in the third column lead to
// the row as well; one that leads to two rows is refused as ambiguous, and that
// is meant where people use one name for two kinds (lime, sycamore, cedar).
// EPPO codes: EPPO Global Database host lists and pest-risk exports.
var table = [...]row{
	{"Abies", "fir", nil, read("1ABIG"), no, nk, nk},
	{"Abies balsamea", "balsam fir", nil, none(), no, nk, nk},
	{"Acer", "maple", nil, read("1ACRG"), nk, yes, yes},
	{"Acer negundo", "boxelder", []string{"box elder", "ash-leaved maple", "Manitoba maple"}, none(), no, yes, nk},
	{"Acer nigrum", "black maple", nil, none(), no, sure, yes},
	{"Acer pensylvanicum", "striped maple", nil, none(), no, nk, nk},
	{"Acer platanoides", "Norway maple", nil, recalled("ACRPL"), no, yes, yes},
	{"Acer pseudoplatanus", "sycamore maple", []string{"sycamore"}, recalled("ACRPP"), no, nk, yes},
	{"Acer rubrum", "red maple", nil, recalled("ACRRB"), no, sure, yes},
	{"Acer saccharinum", "silver maple", nil, recalled("ACRSA"), no, sure, yes},
	{"Acer saccharum", "sugar maple", []string{"hard maple", "rock maple"}, recalled("ACRSC"), no, sure, yes},
	{"Acer spicatum", "mountain maple", nil, none(), no, nk, nk},
	{"Acer x freemanii", "Freeman maple", nil, none(), no, yes, yes},
	{"Aesculus", "buckeye", nil, none(), no, no, yes},
	{"Aesculus glabra", "Ohio buckeye", nil, none(), no, no, yes},
	{"Aesculus hippocastanum", "horse-chestnut", []string{"horsechestnut", "European horse-chestnut"}, recalled("AECHI"), no, no, yes},
	{"Ailanthus altissima", "tree-of-heaven", nil, read("AILAL"), no, no, yes},
	{"Alnus", "alder", nil, read("1ALUG"), no, no, nk},
	{"Azadirachta indica", "neem", []string{"neem tree"}, read("MEIAD"), yes, yes, yes},
	{"Betula", "birch", nil, read("1BETG"), no, yes, nk},
	{"Betula alleghaniensis", "yellow birch", nil, read("BETAL"), no, yes, nk},
	{"Betula lenta", "sweet birch", []string{"black birch", "cherry birch"}, read("BETLE"), yes, yes, nk},
	{"Betula nigra", "river birch", nil, read("BETNI"), no, yes, nk},
	{"Betula occidentalis", "water birch", nil, read("BETOC"), no, nk, nk},
	{"Betula papyrifera", "paper birch", []string{"white birch", "canoe birch"}, read("BETPA"), no, sure, nk},
	{"Betula pendula", "silver birch", []string{"European white birch"}, none(), no, sure, nk},
	{"Betula platyphylla", "Asian white birch", []string{"Japanese white birch"}, read("BETPL"), no, yes, nk},
	{"Buxus sempervirens", "common box", []string{"boxwood", "common boxwood"}, read("BUXSE"), no, no, yes},
	{"Calocedrus decurrens", "incense-cedar", nil, read("CCDDE"), no, no, nk},
	{"Carpinus betulus", "European hornbeam", []string{"common hornbeam"}, read("CIPBE"), no, no, nk},
	{"Carpinus caroliniana", "American hornbeam", []string{"musclewood", "ironwood"}, none(), no, no, nk},
	{"Carya", "hickory", nil, none(), sure, yes, nk},
	{"Carya cordiformis", "bitternut hickory", nil, none(), nk, nk, nk},
	{"Carya glabra", "pignut hickory", nil, none(), yes, nk, nk},
	{"Carya illinoinensis", "pecan", nil, read("CYAIL"), sure, nk, nk},
	{"Carya ovata", "shagbark hickory", nil, none(), sure, yes, nk},
	{"Castanea", "chestnut", nil, read("1CSNG"), sure, no, yes},
	{"Castanea crenata", "Japanese chestnut", nil, read("CSNCR"), sure, no, yes},
	{"Castanea dentata", "American chestnut", nil, none(), sure, no, yes},
	{"Castanea mollissima", "Chinese chestnut", nil, read("CSNMO"), sure, no, yes},
	{"Castanea sativa", "sweet chestnut", []string{"European chestnut", "Spanish chestnut"}, read("CSNSA"), sure, no, yes},
	{"Catalpa", "catalpa", nil, none(), no, no, yes},
	{"Catalpa speciosa", "northern catalpa", nil, none(), no, no, yes},
	{"Cedrus", "true cedar", []string{"cedar"}, none(), no, no, nk},
	{"Celtis", "hackberry", nil, none(), yes, no, nk},
	{"Celtis occidentalis", "common hackberry", []string{"northern hackberry"}, none(), yes, no, nk},
	{"Celtis sinensis", "Chinese hackberry", nil, read("CETSI"), nk, no, nk},
	{"Cercis", "redbud", nil, read("1CCSG"), yes, no, yes},
	{"Cercis canadensis", "eastern redbud", nil, none(), yes, no, yes},
	{"Chionanthus virginicus", "white fringetree", []string{"fringe tree", "fringetree"}, read("CIOVI"), no, no, nk},
	{"Citrus", "citrus", []string{"lemon", "lime", "grapefruit", "mandarin"}, read("1CIDG"), sure, no, sure},
	{"Citrus x sinensis", "sweet orange", []string{"orange", "orange tree", "Citrus sinensis"}, none(), sure, no, sure},
	{"Cocos nucifera", "coconut palm", []string{"coconut"}, none(), sure, sure, yes},
	{"Cornus", "dogwood", nil, read("1CRWG"), yes, no, yes},
	{"Cornus florida", "flowering dogwood", nil, none(), no, no, yes},
	{"Corylus avellana", "common hazel", []string{"hazelnut", "European hazel", "filbert"}, read("CYLAV"), sure, no, nk},
	{"Crataegus", "hawthorn", nil, read("1CSCG"), yes, no, yes},
	{"Crataegus crus-galli", "cockspur hawthorn", nil, none(), yes, no, yes},
	{"Cupressus", "true cypress", []string{"cypress"}, none(), no, no, nk},
	{"Diospyros kaki", "kaki persimmon", []string{"kaki", "Japanese persimmon", "oriental persimmon"}, read("DOSKA"), sure, no, yes},
	{"Diospyros virginiana", "common persimmon", []string{"persimmon", "American persimmon"}, read("DOSVI"), sure, no, yes},
	{"Eriobotrya japonica", "loquat", nil, read("EIOJA"), sure, no, yes},
	{"Eucalyptus", "eucalypt", []string{"eucalyptus tree", "gum tree"}, none(), no, no, yes},
	{"Fagus", "beech", nil, none(), yes, no, nk},
	{"Fagus crenata", "Japanese beech", nil, read("FAUCR"), yes, no, nk},
	{"Fagus grandifolia", "American beech", nil, none(), yes, no, nk},
	{"Fagus sylvatica", "European beech", []string{"common beech", "copper beech"}, read("FAUSY"), yes, no, nk},
	{"Ficus carica", "common fig", []string{"fig"}, read("FIUCA"), sure, no, nk},
	{"Fraxinus", "ash", nil, read("1FRXG"), no, nk, nk},
	{"Fraxinus americana", "white ash", []string{"American ash"}, read("FRXAM"), no, no, nk},
	{"Fraxinus angustifolia", "narrow-leaved ash", nil, none(), no, nk, nk},
	{"Fraxinus angustifolia oxycarpa", "Caucasian ash", []string{"claret ash", "Raywood ash"}, read("FRXAX"), no, nk, nk},
	{"Fraxinus chinensis", "Chinese ash", nil, read("FRXCH"), no, nk, nk},
	{"Fraxinus chinensis rhynchophylla", "Korean ash", nil, read("FRXRH"), no, nk, nk},
	{"Fraxinus excelsior", "European ash", []string{"common ash"}, read("FRXEX"), no, no, nk},
	{"Fraxinus lanuginosa", "Japanese ash", nil, read("FRXLN"), no, nk, nk},
	{"Fraxinus latifolia", "Oregon ash", nil, read("FRXLA"), no, no, nk},
	{"Fraxinus nigra", "black ash", nil, recalled("FRXNI"), no, no, nk},
	{"Fraxinus ornus", "manna ash", []string{"flowering ash"}, none(), yes, yes, yes},
	{"Fraxinus pennsylvanica", "green ash", []string{"red ash"}, recalled("FRXPE"), no, no, nk},
	{"Fraxinus quadrangulata", "blue ash", nil, none(), no, no, nk},
	{"Ginkgo biloba", "ginkgo", []string{"maidenhair tree"}, none(), yes, no, nk},
	{"Gleditsia triacanthos", "honeylocust", []string{"honey locust", "locust"}, none(), no, no, yes},
	{"Gymnocladus dioicus", "Kentucky coffeetree", []string{"Kentucky coffee tree"}, none(), no, no, yes},
	{"Ilex opaca", "American holly", nil, none(), no, no, yes},
	{"Juglans", "walnut", nil, none(), sure, yes, nk},
	{"Juglans cinerea", "butternut", []string{"white walnut"}, none(), sure, yes, nk},
	{"Juglans nigra", "black walnut", nil, read("IUGNI"), sure, yes, nk},
	{"Juglans regia", "English walnut", []string{"Persian walnut", "common walnut"}, read("IUGRE"), sure, yes, nk},
	{"Juniperus", "juniper", nil, read("1IUPG"), yes, no, nk},
	{"Juniperus virginiana", "eastern redcedar", []string{"eastern red cedar", "cedar"}, none(), nk, no, nk},
	{"Koelreuteria paniculata", "golden rain tree", []string{"goldenrain tree"}, none(), no, no, yes},
	{"Larix", "larch", nil, read("1LAXG"), no, nk, nk},
	{"Larix laricina", "tamarack", []string{"eastern larch"}, none(), no, nk, nk},
	{"Liquidambar styraciflua", "sweetgum", []string{"sweet gum", "American sweetgum"}, none(), no, nk, nk},
	{"Liriodendron tulipifera", "tulip tree", []string{"tuliptree", "tulip poplar", "yellow-poplar"}, none(), no, no, yes},
	{"Maclura pomifera", "Osage-orange", nil, none(), no, no, nk},
	{"Magnolia", "magnolia", nil, read("1MAGG"), nk, no, nk},
	{"Magnolia grandiflora", "southern magnolia", nil, none(), no, no, yes},
	{"Magnolia virginiana", "sweetbay magnolia", []string{"sweetbay"}, none(), nk, no, nk},
	{"Malus", "apple", []string{"crabapple", "crab apple", "apple tree"}, read("1MABG"), sure, no, apple},
	{"Metasequoia glyptostroboides", "dawn redwood", nil, none(), no, no, nk},
	{"Morus", "mulberry", nil, read("1MORUG"), sure, no, nk},
	{"Morus alba", "white mulberry", nil, read("MORAL"), sure, no, nk},
	{"Morus rubra", "red mulberry", nil, none(), sure, no, nk},
	{"Notholithocarpus densiflorus", "tanoak", nil, none(), yes, no, nk},
	{"Nyssa sylvatica", "black tupelo", []string{"blackgum", "black gum", "sour gum"}, none(), no, no, sure},
	{"Olea europaea", "olive", []string{"olive tree"}, read("OLVEU"), sure, no, nk},
	{"Ostrya virginiana", "eastern hophornbeam", []string{"hop hornbeam", "ironwood"}, none(), no, no, nk},
	{"Paulownia tomentosa", "princess tree", []string{"empress tree", "foxglove tree"}, none(), no, no, yes},
	{"Persea americana", "avocado", nil, recalled("PEBAM"), sure, no, sure},
	{"Phoenix", "date palm genus", nil, none(), yes, yes, yes},
	{"Phoenix canariensis", "Canary Island date palm", []string{"Canary palm"}, none(), nk, yes, yes},
	{"Phoenix dactylifera", "date palm", nil, none(), sure, yes, yes},
	{"Picea", "spruce", nil, read("1PIEG"), no, nk, nk},
	{"Picea abies", "Norway spruce", nil, read("PIEAB"), no, nk, nk},
	{"Picea glauca", "white spruce", nil, none(), no, nk, nk},
	{"Picea mariana", "black spruce", nil, none(), no, nk, nk},
	{"Picea pungens", "blue spruce", []string{"Colorado blue spruce", "Colorado spruce"}, none(), no, nk, nk},
	{"Pinus", "pine", nil, read("1PIUG"), yes, nk, nk},
	{"Pinus banksiana", "jack pine", nil, none(), no, nk, nk},
	{"Pinus densiflora", "Japanese red pine", nil, read("PIUDE"), nk, nk, nk},
	{"Pinus echinata", "shortleaf pine", nil, none(), no, nk, nk},
	{"Pinus elliottii", "slash pine", nil, none(), no, nk, nk},
	{"Pinus palustris", "longleaf pine", nil, none(), no, nk, nk},
	{"Pinus parviflora", "Japanese white pine", nil, read("PIUPF"), nk, nk, nk},
	{"Pinus resinosa", "red pine", nil, none(), no, nk, nk},
	{"Pinus strobus", "eastern white pine", []string{"white pine"}, recalled("PIUST"), no, nk, nk},
	{"Pinus sylvestris", "Scots pine", []string{"Scotch pine"}, read("PIUSI"), no, nk, nk},
	{"Pinus taeda", "loblolly pine", nil, none(), no, nk, nk},
	{"Pinus virginiana", "Virginia pine", nil, none(), no, nk, nk},
	{"Platanus", "plane", []string{"plane tree"}, none(), no, no, nk},
	{"Platanus occidentalis", "American sycamore", []string{"sycamore", "buttonwood", "American plane"}, recalled("PLTOC"), no, yes, nk},
	{"Platanus x hispanica", "London plane", []string{"London planetree", "Platanus x acerifolia"}, recalled("PLTHY"), no, no, nk},
	{"Populus", "poplar", nil, read("1POPG"), no, nk, nk},
	{"Populus balsamifera", "balsam poplar", nil, none(), no, nk, nk},
	{"Populus deltoides", "eastern cottonwood", []string{"cottonwood"}, none(), no, nk, nk},
	{"Populus grandidentata", "bigtooth aspen", nil, none(), no, nk, nk},
	{"Populus tomentosa", "Chinese white poplar", nil, read("POPTO"), no, nk, nk},
	{"Populus tremuloides", "quaking aspen", []string{"trembling aspen", "aspen"}, none(), no, nk, nk},
	{"Populus x canadensis", "Canadian poplar", []string{"Carolina poplar", "hybrid black poplar"}, read("POPCA"), no, nk, nk},
	{"Prunus", "cherry", []string{"plum", "peach", "almond", "apricot"}, none(), sure, no, sure},
	{"Prunus americana", "American plum", []string{"wild plum"}, none(), sure, no, yes},
	{"Prunus laurocerasus", "cherry laurel", []string{"English laurel"}, read("PRNLR"), no, no, yes},
	{"Prunus serotina", "black cherry", nil, none(), yes, no, yes},
	{"Prunus virginiana", "chokecherry", []string{"choke cherry"}, none(), yes, no, yes},
	{"Pseudotsuga menziesii", "Douglas-fir", nil, read("PSTME"), no, nk, nk},
	{"Pyrus", "pear", nil, none(), sure, no, sure},
	{"Pyrus calleryana", "Callery pear", []string{"Bradford pear"}, none(), no, no, yes},
	{"Quercus", "oak", nil, read("1QUEG"), yes, no, nk},
	{"Quercus agrifolia", "coast live oak", []string{"California live oak"}, none(), yes, no, nk},
	{"Quercus alba", "white oak", nil, recalled("QUEAL"), yes, no, nk},
	{"Quercus bicolor", "swamp white oak", nil, none(), yes, no, nk},
	{"Quercus coccinea", "scarlet oak", nil, none(), nk, no, nk},
	{"Quercus ellipsoidalis", "northern pin oak", nil, none(), nk, no, nk},
	{"Quercus falcata", "southern red oak", []string{"red oak"}, none(), nk, no, nk},
	{"Quercus ilex", "holm oak", []string{"holly oak"}, read("QUEIL"), yes, no, nk},
	{"Quercus macrocarpa", "bur oak", nil, none(), yes, no, nk},
	{"Quercus michauxii", "swamp chestnut oak", nil, none(), yes, no, nk},
	{"Quercus montana", "chestnut oak", []string{"Quercus prinus"}, none(), yes, no, nk},
	{"Quercus muehlenbergii", "chinkapin oak", []string{"chinquapin oak"}, none(), yes, no, nk},
	{"Quercus nigra", "water oak", nil, none(), nk, no, nk},
	{"Quercus palustris", "pin oak", nil, none(), nk, no, nk},
	{"Quercus robur", "English oak", []string{"pedunculate oak", "common oak"}, read("QUERO"), nk, no, nk},
	{"Quercus rubra", "northern red oak", []string{"red oak"}, recalled("QUERU"), nk, no, nk},
	{"Quercus shumardii", "Shumard oak", nil, none(), nk, no, nk},
	{"Quercus stellata", "post oak", nil, none(), nk, no, nk},
	{"Quercus velutina", "black oak", nil, none(), nk, no, nk},
	{"Quercus virginiana", "southern live oak", []string{"live oak"}, none(), yes, no, nk},
	{"Robinia pseudoacacia", "black locust", []string{"false acacia", "locust"}, read("ROBPS"), yes, no, sure},
	{"Salix", "willow", nil, read("1SAXG"), no, no, yes},
	{"Salix babylonica", "weeping willow", nil, read("SAXBA"), no, no, yes},
	{"Salix nigra", "black willow", nil, none(), no, no, yes},
	{"Sambucus nigra", "black elder", []string{"elder", "elderberry", "European elder"}, none(), sure, no, yes},
	{"Sassafras albidum", "sassafras", nil, none(), sure, no, nk},
	{"Sequoia sempervirens", "coast redwood", []string{"redwood"}, none(), no, no, nk},
	{"Sorbus", "rowan", []string{"mountain-ash"}, none(), yes, no, yes},
	{"Taxodium distichum", "baldcypress", []string{"bald cypress", "cypress"}, none(), no, no, nk},
	{"Thuja occidentalis", "northern white-cedar", []string{"arborvitae", "eastern arborvitae", "cedar"}, none(), no, no, nk},
	{"Tilia", "linden", []string{"lime"}, read("1TILG"), sure, no, sure},
	{"Tilia americana", "American basswood", []string{"basswood", "American linden"}, recalled("TILAM"), yes, yes, sure},
	{"Tilia cordata", "littleleaf linden", []string{"small-leaved lime", "little-leaf linden"}, read("TILCO"), sure, no, sure},
	{"Toona sinensis", "Chinese toon", []string{"Chinese mahogany"}, none(), sure, no, nk},
	{"Tsuga", "hemlock", nil, none(), no, no, nk},
	{"Tsuga canadensis", "eastern hemlock", []string{"Canadian hemlock"}, recalled("TSUCA"), no, no, nk},
	{"Ulmus", "elm", nil, none(), nk, no, nk},
	{"Ulmus alata", "winged elm", nil, none(), no, no, nk},
	{"Ulmus americana", "American elm", []string{"white elm"}, recalled("ULMAM"), no, no, nk},
	{"Ulmus glabra", "wych elm", []string{"Scots elm"}, read("ULMGL"), nk, no, nk},
	{"Ulmus parvifolia", "Chinese elm", []string{"lacebark elm"}, none(), nk, no, nk},
	{"Ulmus pumila", "Siberian elm", nil, none(), nk, no, nk},
	{"Ulmus rubra", "slippery elm", []string{"red elm"}, none(), yes, no, nk},
	{"Ulmus thomasii", "rock elm", nil, none(), no, no, nk},
	{"Washingtonia", "fan palm", nil, none(), nk, nk, nk},
	{"Zelkova serrata", "Japanese zelkova", []string{"keaki", "zelkova"}, read("ZELSE"), no, no, nk},
}

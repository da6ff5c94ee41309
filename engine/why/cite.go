package why

import "strings"

// Citation is where a source can be looked up and how far it was checked.
type Citation struct {
	By    string // author or body, short
	Title string // what it is; series and number where it has them
	Year  string // year or edition
	Where string // the place in it that is relied on
	// Mark says how the figures were come by: "confirmed" (read in the published
	// text), "secondary" (read in a text that reports it), "abstract" (read in
	// the abstract or record only), "memory" (not re-read: verify), "practice"
	// (no source), "own" (a convention of this project), "derived" (follows from
	// mathematics or physics), "label" (typed from the label at hand).
	Mark string
}

// Short names the source at the end of a line: "Raile 1982".
func (c Citation) Short() string { return strings.TrimSpace(c.By + " " + c.Year) }

// Cite returns the citation of a source and whether there is one.
func Cite(s Source) (Citation, bool) {
	c, ok := citations()[s]
	return c, ok
}

// citations has one row a Source constant. To add a source: a constant in
// sources.go and a row here; a test fails while either is missing.
func citations() map[Source]Citation {
	return map[Source]Citation{
		CommonPractice: {By: "common practice", Title: "a fact of the trade without a published source", Mark: "practice"},
		Own:            {By: "own convention", Title: "a convention of this project, not published, editable", Mark: "own"},
		Memory:         {By: "from memory", Title: "not re-read in a published text: verify before relying on it", Mark: "memory"},
		TheLabel:       {By: "product label", Title: "the label of the product at hand, in the version named", Mark: "label"},
		Geometry:       {By: "geometry", Title: "plane or solid geometry", Mark: "derived"},
		BoyleMariotte: {By: "Boyle-Mariotte", Title: "gas law p·V = const for a fixed amount at one temperature",
			Where: "with the absolute pressure; real gas effects are far below 1 % here", Mark: "derived"},

		SP811: {By: "NIST SP 811", Title: "Guide for the Use of the International System of Units (SI)", Year: "2008",
			Where: "appendix B.8, factors for units listed alphabetically; rows read in reproductions", Mark: "secondary"},
		ISA1976: {By: "US Standard Atmosphere", Title: "U.S. Standard Atmosphere, 1976, NOAA/NASA/USAF", Year: "1976",
			Where: "pressure below 11 km: 101.325 kPa · (1 − 2.25577e-5 h)^5.25588", Mark: "memory"},
		Raile1982: {By: "Raile", Title: "USDA Forest Service Research Paper NC-224", Year: "1982",
			Where: "ratio of diameter inside to outside bark, as tabulated in USDAForestService/ForestVegetationSimulator ls/src/blkdat.f", Mark: "confirmed"},
		Clark1991: {By: "Clark et al.", Title: "USDA Forest Service Research Paper SE series", Year: "1991",
			Where: "table 9, as tabulated by species index in USDAForestService/ForestVegetationSimulator sn/src/bratio.f", Mark: "confirmed"},
		Sinclair1981: {By: "Sinclair & Larsen", Title: "Journal of Arboriculture 7(1):6-10", Year: "1981",
			Where: "uptake of water at 10 psi by holes of 11 × 40 mm in 14 species", Mark: "confirmed"},
		Stewart1992: {By: "Stewart & Salazar", Title: "Agroforestry Systems 19:173-183", Year: "1992",
			Where: "diameter of equal basal area of several stems", Mark: "confirmed"},
		Stack1988: {By: "Stack", Title: "Journal of Arboriculture 14(8)", Year: "1988",
			Where: "injection times of 134 American elms: six-fold between trees, hardly with size; slowest in cool, cloudy or wet weather", Mark: "abstract"},
		Neely1979: {By: "Neely", Title: "Journal of Arboriculture 5(6):135-140", Year: "1979",
			Where: "width of wounds that close within one season", Mark: "abstract"},
		Hauer2022: {By: "Hauer, Ball & North", Title: "Forests 13(11):1802", Year: "2022",
			Where: "wounds after injection with and without plugs", Mark: "abstract"},
		EllmoreEwers: {By: "Ellmore & Ewers", Title: "Hydraulic conductivity in trunk xylem of elm, Ulmus americana", Year: "1985",
			Where: "over 90 % of the flow in the outermost ring", Mark: "abstract"},
		PorosityTexts: {By: "wood identification texts", Title: "USDA Wood Handbook FPL-GTR-190 ch. 3; Hoadley; IAWA List of Features 1989 for the classes",
			Where: "class of wood by genus", Mark: "confirmed"},
		OSUCanopy: {By: "Ohio State University Extension", Title: "column citing the multistate bulletin on insecticide options for ash", Year: "2013",
			Where: "treatment usually not recommended above 50 % canopy decline", Mark: "confirmed"},
		Persad2015: {By: "Persad and Tobin", Title: "Arboriculture & Urban Forestry 41(2):103-109", Year: "2015",
			Where: "p. 106: canopy loss above 30 % goes with ash that has emerald ash borer", Mark: "confirmed"},
		AshPorts: {By: "trial of port density on ash", Title: "Factors Affecting Efficacy of Trunk-Injected Emamectin Benzoate to Manage Emerald Ash Borer",
			Where: "8 and 16 ports per metre of circumference; the equipment differed too", Mark: "abstract"},
		Phytosphere: {By: "USDA Forest Service sudden oak death manual", Title: "management guide for sudden oak death, section on phosphite injection",
			Where: "not above 32 °C (90 °F), not under severe drought; leaves expanded", Mark: "confirmed"},
		Pest2019Apple: {By: "Pest Management Science", Title: "75(5):1453-1463, residues in nectar and pollen of injected apple", Year: "2019",
			Where: "by active ingredient and season of injection", Mark: "abstract"},

		FIFRA2ee: {By: "FIFRA section 2(ee)", Title: "Federal Insecticide, Fungicide, and Rodenticide Act, 7 USC 136(ee)",
			Where: "what is not use inconsistent with the labelling; read in its state copy WAC 16-228-1225", Mark: "confirmed"},
		CFR170: {By: "40 CFR part 170", Title: "Worker protection standard",
			Where: "170.103(e) excepts injection for workers, 170.203 does not for handlers; numbers of the text before 2015", Mark: "confirmed"},
		CFR171: {By: "40 CFR part 171", Title: "Certification of pesticide applicators",
			Where: "171.1(b): restricted-use products only by or under a certified applicator", Mark: "confirmed"},
		CFR261: {By: "40 CFR part 261", Title: "Identification and listing of hazardous waste",
			Where: "261.7(b)(1): residue of containers, 2.5 cm or 3 % by weight up to 119 gallons", Mark: "confirmed"},
		OAR603057: {By: "Oregon OAR 603-057", Title: "Oregon Administrative Rules, 603-057-0388 on Tilia", Year: "2015",
			Where: "dinotefuran, imidacloprid, clothianidin, thiamethoxam on linden and basswood by any method; the 2014 temporary rule was read, the permanent one not", Mark: "secondary"},
		EU1107: {By: "Regulation (EC) 1107/2009", Title: "placing of plant protection products on the market", Year: "2009",
			Where: "article 55, use as authorised, from memory; article 67(1), records, was read", Mark: "memory"},
		EPPO: {By: "EPPO", Title: "EPPO Global Database, codes of plants and pests",
			Where: "a code whose name was not read together with it is marked so in its row", Mark: "confirmed"},
		IRAC: {By: "IRAC", Title: "Mode of Action Classification Scheme", Year: "v11.1, 2024",
			Where: "groups of active ingredients", Mark: "memory"},
		FRAC: {By: "FRAC", Title: "Code List of fungicides",
			Where: "groups of active ingredients", Mark: "memory"},
	}
}

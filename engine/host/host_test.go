package host

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/why"
	"sapwell/internal/outside"
)

func TestEveryRowIsWellFormed(t *testing.T) {
	rows := All()
	if len(rows) < 60 {
		t.Fatalf("%d rows, want at least 60", len(rows))
	}
	genera := map[string]bool{}
	for i, r := range table {
		if i > 0 && table[i-1].sci >= r.sci {
			t.Errorf("%q is out of order or twice", r.sci)
		}
		genus, _, isSpecies := strings.Cut(r.sci, " ")
		genera[genus] = genera[genus] || !isSpecies
		names := append([]string{r.sci, r.common, r.code.EPPO}, r.also...)
		for _, n := range names {
			if strings.ContainsFunc(n, func(c rune) bool { return c > 127 }) || strings.TrimSpace(n) != n {
				t.Errorf("%s: name %q is not plain ASCII", r.sci, n)
			}
		}
	}
	for _, s := range rows {
		if s.Uptake.Value == "" {
			t.Errorf("%s: uptake is empty, want a rank or unknown", s.Scientific)
		}
		if s.Anatomy.Value != "" && s.Anatomy.Source == "" {
			t.Errorf("%s: anatomy without source", s.Scientific)
		}
		for _, f := range []Sourced[bool]{s.Food, s.Tapped, s.Bees} {
			if f.Value && f.Source == "" {
				t.Errorf("%s: a yes without source", s.Scientific)
			}
		}
	}
}

// One name for two kinds is refused; these are the only such names, and each is
// in use for both.
func TestAmbiguousNamesAreTheKnownOnes(t *testing.T) {
	owners := map[string][]string{}
	for _, r := range table {
		for _, n := range append([]string{r.sci, r.common, r.code.EPPO}, r.also...) {
			if n != "" && !slices.Contains(owners[tidy(n)], r.sci) { // "magnolia" is both names of its genus
				owners[tidy(n)] = append(owners[tidy(n)], r.sci)
			}
		}
	}
	known := []string{"cedar", "cypress", "ironwood", "lime", "locust", "red oak", "sycamore"}
	for name, rows := range owners {
		if len(rows) > 1 != slices.Contains(known, name) {
			t.Errorf("%q leads to %q", name, rows)
		}
	}
	for _, name := range known {
		var amb *AmbiguousError
		if _, err := Lookup(name); !errors.As(err, &amb) || !slices.Equal(amb.Matches, owners[name]) {
			t.Errorf("Lookup(%q): %v, want it ambiguous between %q", name, err, owners[name])
		}
	}
}

func TestLookup(t *testing.T) {
	for asked, want := range map[string]string{
		"Fraxinus pennsylvanica":              "Fraxinus pennsylvanica",
		"  fraxinus   PENNSYLVANICA ":         "Fraxinus pennsylvanica",
		"Fraxinus pennsylvanica Marshall":     "Fraxinus pennsylvanica",
		"F. pennsylvanica":                    "Fraxinus pennsylvanica",
		"f pennsylvanica":                     "Fraxinus pennsylvanica",
		"green ash":                           "Fraxinus pennsylvanica",
		"Ash, Green":                          "Fraxinus pennsylvanica",
		"frxpe":                               "Fraxinus pennsylvanica",
		"FRXAM":                               "Fraxinus americana",
		"Acer platanoides 'Crimson King'":     "Acer platanoides",
		"Acer rubrum var. trilobum":           "Acer rubrum",
		"Populus × canadensis":                "Populus x canadensis",
		"P. × canadensis":                     "Populus x canadensis",
		"P. canadensis":                       "Populus x canadensis",
		"Platanus ×acerifolia":                "Platanus x hispanica",
		"Fraxinus chinensis rhynchophylla":    "Fraxinus chinensis rhynchophylla",
		"Fraxinus chinensis rhynchophylla cv": "Fraxinus chinensis rhynchophylla",
		"Crataegus crus galli":                "Crataegus crus-galli",
		"horse chestnut":                      "Aesculus hippocastanum",
		"Norway Maple tree":                   "Acer platanoides",
		"Magnolia tree":                       "Magnolia",
		"Douglas fir":                         "Pseudotsuga menziesii",
		"mountain ash":                        "Sorbus", // not an ash
		"Quercus prinus":                      "Quercus montana",
	} {
		got, err := Lookup(asked)
		if err != nil || got.Scientific != want {
			t.Errorf("Lookup(%q) = %q, %v; want %q", asked, got.Scientific, err, want)
		}
	}
}

func TestAbbreviationsThatFitTwoKindsAreRefused(t *testing.T) {
	// Citrus sinensis is eaten, Celtis sinensis is a street tree.
	for _, asked := range []string{"C. sinensis", "S. nigra", "P. virginiana", "P. americana", "T. canadensis x"} {
		if got, err := Lookup(asked); err == nil {
			t.Errorf("Lookup(%q) = %q, want an error", asked, got.Scientific)
		}
	}
}

func TestUnlistedSpeciesGetsItsGenusAndSaysSo(t *testing.T) {
	got, err := Lookup("Fraxinus Mandshurica")
	if err != nil || got.Scientific != "Fraxinus mandshurica" || !got.GenusOnly {
		t.Fatalf("got %+v, %v", got, err)
	}
	if got.Anatomy.Value != RingPorous || got.Code.EPPO != "1FRXG" || !got.Bark.Value.OfGenus {
		t.Errorf("facts of the genus are missing: %+v", got)
	}
	for _, asked := range []string{"Fraxinus", "Fraxinus sp.", "Fraxinus spp", "ash", "1FRXG"} {
		if got, err := Lookup(asked); err != nil || got.Scientific != "Fraxinus" || !got.GenusOnly {
			t.Errorf("Lookup(%q) = %q, genus only %v, %v", asked, got.Scientific, got.GenusOnly, err)
		}
	}
	if got, _ := Lookup("green ash"); got.GenusOnly {
		t.Error("green ash is a species")
	}
}

func TestMisspellingsAreNotTakenForGenera(t *testing.T) {
	for asked, want := range map[string]string{
		"Fraxinus pensylvanica": "Fraxinus pennsylvanica",
		"gren ash":              "green ash",
		"Ulmus amercana":        "Ulmus americana",
		"Querqus robur":         "Quercus robur",
		"Zelcova":               "zelkova",
	} {
		var unknown *UnknownError
		_, err := Lookup(asked)
		if !errors.As(err, &unknown) || len(unknown.Near) == 0 || unknown.Near[0] != want {
			t.Errorf("Lookup(%q): %v, want %q suggested first", asked, err, want)
		}
	}
	_, err := Lookup("concrete bollard")
	if err == nil || !strings.Contains(err.Error(), `"concrete bollard"`) || !strings.Contains(err.Error(), "EPPO") {
		t.Errorf("error %v does not say what was asked and what is accepted", err)
	}
	if _, err := Lookup(""); err == nil {
		t.Error("the empty name was found")
	}
}

// Expected lists re-typed from the EPPO host lists (gd.eppo.int and
// pra.eppo.int exports, hosts of XYLBGE and APRIJA), where code and name stand
// together.
func TestEPPOCodesReadInPublishedLists(t *testing.T) {
	published := strings.Fields(`
		FRXAM=Fraxinus_americana FRXEX=Fraxinus_excelsior FRXLA=Fraxinus_latifolia FRXCH=Fraxinus_chinensis
		FRXRH=Fraxinus_chinensis_rhynchophylla FRXLN=Fraxinus_lanuginosa FRXAX=Fraxinus_angustifolia_oxycarpa
		CIOVI=Chionanthus_virginicus BETAL=Betula_alleghaniensis BETLE=Betula_lenta BETOC=Betula_occidentalis
		BETPA=Betula_papyrifera BETNI=Betula_nigra BETPL=Betula_platyphylla IUGNI=Juglans_nigra IUGRE=Juglans_regia
		QUEIL=Quercus_ilex QUERO=Quercus_robur FAUSY=Fagus_sylvatica FAUCR=Fagus_crenata CIPBE=Carpinus_betulus
		CSNSA=Castanea_sativa CSNMO=Castanea_mollissima CSNCR=Castanea_crenata TILCO=Tilia_cordata ULMGL=Ulmus_glabra
		ZELSE=Zelkova_serrata CETSI=Celtis_sinensis POPTO=Populus_tomentosa POPCA=Populus_x_canadensis
		SAXBA=Salix_babylonica ROBPS=Robinia_pseudoacacia CYAIL=Carya_illinoinensis MORAL=Morus_alba FIUCA=Ficus_carica
		OLVEU=Olea_europaea AILAL=Ailanthus_altissima CYLAV=Corylus_avellana DOSVI=Diospyros_virginiana
		PIUSI=Pinus_sylvestris PIUDE=Pinus_densiflora PIUPF=Pinus_parviflora PIEAB=Picea_abies
		PSTME=Pseudotsuga_menziesii CCDDE=Calocedrus_decurrens EIOJA=Eriobotrya_japonica PRNLR=Prunus_laurocerasus
		DOSKA=Diospyros_kaki MEIAD=Azadirachta_indica BUXSE=Buxus_sempervirens
		1FRXG=Fraxinus 1ACRG=Acer 1BETG=Betula 1QUEG=Quercus 1CSNG=Castanea 1TILG=Tilia 1POPG=Populus 1SAXG=Salix
		1CSCG=Crataegus 1MABG=Malus 1MORUG=Morus 1MAGG=Magnolia 1CRWG=Cornus 1CCSG=Cercis 1ALUG=Alnus 1CIDG=Citrus
		1PIUG=Pinus 1PIEG=Picea 1ABIG=Abies 1LAXG=Larix 1IUPG=Juniperus`)
	confirmed := 0
	for _, r := range table {
		if r.code.Confirmed {
			confirmed++
		}
		if r.code.Confirmed && r.code.EPPO == "" {
			t.Errorf("%s: no code, yet confirmed", r.sci)
		}
	}
	if confirmed != len(published) {
		t.Errorf("%d confirmed codes, the lists give %d", confirmed, len(published))
	}
	for _, p := range published {
		code, name, _ := strings.Cut(strings.ReplaceAll(p, "_", " "), "=")
		got, err := Lookup(code)
		if err != nil || got.Scientific != name || !got.Code.Confirmed {
			t.Errorf("%s: got %q (confirmed %v), %v; want %q", code, got.Scientific, got.Code.Confirmed, err, name)
		}
	}
	// From memory, and marked so.
	for code, name := range map[string]string{
		"FRXPE": "Fraxinus pennsylvanica", "FRXNI": "Fraxinus nigra", "ULMAM": "Ulmus americana", "QUERU": "Quercus rubra",
		"QUEAL": "Quercus alba", "ACRRB": "Acer rubrum", "ACRPL": "Acer platanoides", "ACRPP": "Acer pseudoplatanus",
		"AECHI": "Aesculus hippocastanum", "TILAM": "Tilia americana", "PIUST": "Pinus strobus",
		"TSUCA": "Tsuga canadensis", "PEBAM": "Persea americana",
	} {
		if got, err := Lookup(code); err != nil || got.Scientific != name || got.Code.Confirmed {
			t.Errorf("%s: got %q (confirmed %v), %v", code, got.Scientific, got.Code.Confirmed, err)
		}
	}
	outside.Ran(t, "EPPO host lists of XYLBGE and APRIJA", "codes and names read together")
	outside.Ran(t, "EPPO codes (from memory)", "13 codes, marked unconfirmed")
}

// Rates of Sinclair and Larsen 1981, table of uptake: means of late September
// and late June, mL a minute and hole. A species that takes up more must not
// rank below one that takes up less.
func TestUptakeRanksFollowTheMeasuredRates(t *testing.T) {
	rates := []struct {
		name string
		mean float64
	}{
		{"Tilia americana", 176}, {"Crataegus crus-galli", 153.5}, {"Prunus serotina", 135}, {"Ulmus americana", 97.5},
		{"Fagus grandifolia", 96.5}, {"Quercus rubra", 80.5}, {"Betula lenta", 76}, {"Quercus alba", 56.5},
		{"Acer saccharum", 31.5}, {"Robinia pseudoacacia", 27}, {"Fraxinus americana", 5.5}, {"Juglans cinerea", 4},
		{"Pinus strobus", 0.5}, {"Carya ovata", 0},
	}
	rank := map[Uptake]int{Fast: 0, Medium: 1, Slow: 2, VerySlow: 3}
	last := 0
	for _, r := range rates {
		s, err := Lookup(r.name)
		n, ranked := rank[s.Uptake.Value]
		if err != nil || !ranked || n < last || s.Uptake.Source != why.Sinclair1981 {
			t.Errorf("%s (%.0f mL/min): rank %q, source %q, %v", r.name, r.mean, s.Uptake.Value, s.Uptake.Source, err)
		}
		last = n
	}
	ranked := 0
	for _, s := range All() {
		if s.Uptake.Source == why.Sinclair1981 {
			ranked++
		}
		if own := s.Uptake.Source == why.Own; own && s.Uptake.Value != VerySlow {
			t.Errorf("%s: only a very slow rank is passed on in a genus", s.Scientific)
		}
	}
	if ranked != len(rates) {
		t.Errorf("%d species ranked, %d were measured", ranked, len(rates))
	}
	outside.Ran(t, "Sinclair and Larsen 1981", "order of uptake of 14 kinds")
}

func TestAnatomy(t *testing.T) {
	// Read in published wood-identification texts, except where from memory.
	for name, want := range map[string]Sourced[Anatomy]{
		"white ash":           {RingPorous, why.PorosityTexts},
		"American elm":        {RingPorous, why.PorosityTexts},
		"northern red oak":    {RingPorous, why.PorosityTexts},
		"white oak":           {RingPorous, why.PorosityTexts},
		"shagbark hickory":    {RingPorous, why.PorosityTexts},
		"pecan":               {SemiRingPorous, why.PorosityTexts},
		"black walnut":        {SemiRingPorous, why.PorosityTexts},
		"black cherry":        {SemiRingPorous, why.PorosityTexts},
		"tanoak":              {SemiRingPorous, why.PorosityTexts},
		"sugar maple":         {DiffusePorous, why.PorosityTexts},
		"tulip tree":          {DiffusePorous, why.PorosityTexts},
		"American basswood":   {DiffusePorous, why.PorosityTexts},
		"southern live oak":   {SemiRingPorous, why.Memory},
		"black locust":        {RingPorous, why.Memory},
		"eastern white pine":  {Tracheid, why.Memory},
		"ginkgo":              {Tracheid, why.Memory},
		"date palm":           {Palm, why.Memory},
		"common box":          {"", ""},
		"Quercus mongolica":   {RingPorous, why.PorosityTexts},
		"Magnolia sieboldii":  {DiffusePorous, why.Memory},
		"Chionanthus retusus": {"", ""},
	} {
		if got, err := Lookup(name); name != "Chionanthus retusus" && (err != nil || got.Anatomy != want) {
			t.Errorf("%s: %v, %v; want %v", name, got.Anatomy, err, want)
		} else if name == "Chionanthus retusus" && err == nil {
			t.Error("a genus without a row gave facts")
		}
	}
	outside.Ran(t, "published wood-identification texts", "porosity of 13 kinds")
	outside.Ran(t, "wood anatomy (from memory)", "porosity of 6 kinds")
}

func TestTreesWhoseFruitOrSapPeopleUseAreFlagged(t *testing.T) {
	// Common practice, no source.
	for _, name := range []string{"pecan", "English walnut", "apple", "Citrus", "avocado", "olive", "sweet orange", "sweet chestnut", "Prunus persica", "date palm"} {
		if s, err := Lookup(name); err != nil || !s.Food.Value || s.Food.Source != why.CommonPractice {
			t.Errorf("%s: food %+v, %v", name, s.Food, err)
		}
	}
	for _, name := range []string{"sugar maple", "red maple", "black maple", "paper birch"} {
		if s, err := Lookup(name); err != nil || !s.Tapped.Value {
			t.Errorf("%s: tapped %+v, %v", name, s.Tapped, err)
		}
	}
	for _, s := range All() {
		if s.Bees.Source != "" && !s.Bees.Value {
			t.Errorf("%s: the table never says that bees stay away", s.Scientific)
		}
	}
	outside.Ran(t, "common practice, no source", "14 kinds that people eat from or tap")
}

func TestAllIsACopy(t *testing.T) {
	All()[0].Scientific = "Nothing"
	if All()[0].Scientific != "Abies" {
		t.Error("the table was changed through All")
	}
}

// The distance against the plain recursive definition.
func TestDistanceIsLevenshtein(t *testing.T) {
	var plain func(a, b string) int
	plain = func(a, b string) int {
		if a == "" || b == "" {
			return len(a) + len(b)
		}
		cost := 1
		if a[0] == b[0] {
			cost = 0
		}
		return min(plain(a[1:], b[1:])+cost, plain(a[1:], b)+1, plain(a, b[1:])+1)
	}
	word := rapid.StringMatching(`[abc]{0,6}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		limit := rapid.IntRange(0, 7).Draw(t, "limit")
		want := plain(a, b)
		if got := distance(a, b, limit); got != want && !(want > limit && got > limit) {
			t.Fatalf("distance(%q, %q, %d) = %d, want %d", a, b, limit, got, want)
		}
	})
}

func FuzzLookup(f *testing.F) {
	for _, s := range []string{"Fraxinus americana", "F. americana", "ash, green", "", "×", "x x", "Fraxinus \xff", "ash ,", ". americana"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		s, err := Lookup(name)
		if (err == nil) != (s.Scientific != "") {
			t.Fatalf("Lookup(%q) = %q, %v", name, s.Scientific, err)
		}
		if err == nil {
			if again, err := Lookup(s.Scientific); err != nil || again.Scientific != s.Scientific {
				t.Fatalf("%q gave %q, which gives %q, %v", name, s.Scientific, again.Scientific, err)
			}
		}
	})
}

func BenchmarkLookup(b *testing.B) {
	for b.Loop() {
		if _, err := Lookup("Zelkova serrata"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLookupUnknown(b *testing.B) {
	for b.Loop() {
		if _, err := Lookup("concrete bollard"); err == nil {
			b.Fatal("found")
		}
	}
}

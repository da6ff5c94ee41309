package why

// Source is the key of a published source, or of one of the three kinds of
// statement that have none.
type Source string

// The sources that rules and table rows point at. Cite gives the full title.
const (
	CommonPractice Source = "common-practice" // a fact of the trade, no published source
	Own            Source = "own"             // a convention of this project, not published
	Memory         Source = "memory"          // from memory, not re-read: verify before relying on it
	TheLabel       Source = "label"           // the product label at hand
	Geometry       Source = "geometry"        // follows from plane or solid geometry

	SP811         Source = "sp811"
	Raile1982     Source = "raile-1982"
	Clark1991     Source = "clark-1991"
	Sinclair1981  Source = "sinclair-larsen-1981"
	Stewart1992   Source = "stewart-salazar-1992"
	ISA1976       Source = "us-standard-atmosphere-1976"
	BoyleMariotte Source = "boyle-mariotte"
	FIFRA2ee      Source = "fifra-2ee"
	EU1107        Source = "eu-1107-2009"
	CFR170        Source = "40-cfr-170"
	CFR171        Source = "40-cfr-171"
	CFR261        Source = "40-cfr-261"
	OSUCanopy     Source = "osu-extension-2013"
	Phytosphere   Source = "usfs-sod-manual"
	Pest2019Apple Source = "pms-2019-apple"
	OAR603057     Source = "oar-603-057"
	Neely1979     Source = "neely-1979"
	Hauer2022     Source = "hauer-2022"
	EPPO          Source = "eppo"
	IRAC          Source = "irac"
	FRAC          Source = "frac"
	PorosityTexts Source = "porosity-texts" // wood-identification texts that class genera; classes as IAWA 1989
	EllmoreEwers  Source = "ellmore-ewers-elm"
	Stack1988     Source = "stack-1988"
	Persad2015    Source = "persad-tobin-2015"
	AshPorts      Source = "ash-port-density"
)

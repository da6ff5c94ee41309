package label

import "regexp"

// The forms of codes on a label. They tell a slip of the pen from a code; they do
// not know which codes exist.
var (
	// What can stand in a file name on every system.
	idForm = regexp.MustCompile(`^[a-z0-9][a-z0-9._-]{0,63}$`)
	// ISO 3166-1 alpha-2; XX and its kin are free for invented places.
	countryForm = regexp.MustCompile(`^[A-Z]{2}$`)
	// The part of an ISO 3166-2 code behind the hyphen: NY, 75, NSW.
	stateForm = regexp.MustCompile(`^[A-Z0-9]{1,3}$`)
	// Company, product and perhaps distributor number; from memory.
	usRegNoForm = regexp.MustCompile(`^[0-9]{1,6}-[0-9]{1,5}(-[0-9]{1,6})?$`)
	// GHS hazard and precaution statements, several joined: H360FD, P305+P351+P338.
	hazardForm = regexp.MustCompile(`^(EUH|H|P)[0-9]{3}[A-Za-z]{0,2}(\+(EUH|H|P)[0-9]{3}[A-Za-z]{0,2})*$`)
	// A genus, a species, or a rank below; hybrid signs allowed.
	taxonForm = regexp.MustCompile(`^(× ?)?\p{Lu}\p{Ll}[\p{Ll}-]*( (x|×) ?\p{Ll}[\p{Ll}-]+| (subsp\.|var\.|f\.) \p{Ll}[\p{Ll}-]+| \p{Ll}[\p{Ll}-]+)*$`)
	// EPPO codes of animals and microbes: six capitals; of their genera: 1, letters, G.
	pestCodeForm = regexp.MustCompile(`^([A-Z]{6}|1[A-Z]{3,4}G)$`)
	// Group and sub-group of the IRAC classification v11.1 (2024): 6, 4A, UN.
	iracForm = regexp.MustCompile(`^([1-9][0-9]?[A-F]?|UN[BEFMPV]?)$`)
	// Codes of the FRAC list: 3, M01, P07, U06, BM02, NC.
	fracForm = regexp.MustCompile(`^([1-9][0-9]?|[MPU] ?[0-9]{2}|BM ?[0-9]{2}|NC)$`)
)

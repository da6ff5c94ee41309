package label

import "regexp"

// The formats of codes on a label. Compiled per use: a label is checked once, and
// the engine keeps no package variables.

func matches(pattern, s string) bool { return regexp.MustCompile(pattern).MatchString(s) }

// isID holds what can stand in a file name on every system.
func isID(s string) bool { return matches(`^[a-z0-9][a-z0-9._-]{0,63}$`, s) }

// isCountry is the form of ISO 3166-1 alpha-2; XX and its kin are free for use.
func isCountry(s string) bool { return matches(`^[A-Z]{2}$`, s) }

// isUSRegNo is company, product and perhaps distributor number; from memory.
func isUSRegNo(s string) bool { return matches(`^[0-9]{1,6}-[0-9]{1,5}(-[0-9]{1,6})?$`, s) }

// isTaxon is a genus, a species, or a rank below; hybrid signs allowed.
func isTaxon(s string) bool {
	return matches(`^(× ?)?\p{Lu}\p{Ll}[\p{Ll}-]*( (x|×) ?\p{Ll}[\p{Ll}-]+| (subsp\.|var\.|f\.) \p{Ll}[\p{Ll}-]+| \p{Ll}[\p{Ll}-]+)*$`, s)
}

// isPestCode is the form of EPPO codes for animals, microbes and viruses: six
// capitals, or a genus code (1 + letters + G).
func isPestCode(s string) bool { return matches(`^([A-Z]{6}|1[A-Z]{3,4}G)$`, s) }

// isIRAC is a group and sub-group of the IRAC classification (v11.1, 2024): 6,
// 4A, or UN and its kin.
func isIRAC(s string) bool { return matches(`^([1-9][0-9]?[A-F]?|UN[BEFMPV]?)$`, s) }

// isFRAC is a code of the FRAC list: 3, M01, P07, U06, BM02, NC.
func isFRAC(s string) bool { return matches(`^([1-9][0-9]?|[MPU] ?[0-9]{2}|BM ?[0-9]{2}|NC)$`, s) }

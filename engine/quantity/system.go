package quantity

import "fmt"

// String names the system in lower case: "metric", "imperial".
func (s System) String() string {
	if s == Imperial {
		return "imperial"
	}
	return "metric"
}

// MarshalText writes the name, so that settings stay readable.
func (s System) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads "metric" or "imperial" and nothing else.
func (s *System) UnmarshalText(b []byte) error {
	switch string(b) {
	case "metric":
		*s = Metric
	case "imperial":
		*s = Imperial
	default:
		return fmt.Errorf("system of units %q: want metric or imperial", b)
	}
	return nil
}

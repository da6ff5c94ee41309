package main

import (
	"os"
	"path/filepath"
	"strings"
	"time"
	_ "time/tzdata" // time zones by name, also where the machine has no list of them
)

// zoneHere is the time zone of this machine by its IANA name. UTC where it cannot
// be found out.
func zoneHere() string {
	names := []string{time.Local.String()} // its name only where TZ is set
	if link, err := os.Readlink("/etc/localtime"); err == nil {
		_, name, _ := strings.Cut(filepath.ToSlash(link), "zoneinfo/")
		names = append(names, name)
	}
	if text, err := os.ReadFile("/etc/timezone"); err == nil { // Debian
		names = append(names, strings.TrimSpace(string(text)))
	}
	for _, name := range names {
		if _, err := time.LoadLocation(name); err == nil && name != "" && name != "Local" {
			return strings.TrimPrefix(name, "Etc/")
		}
	}
	return "UTC"
}

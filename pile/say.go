package pile

import (
	"strings"

	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// Miss says what was found in a record, and which profiles ask it.
func Miss(f records.Found, say *words.Printer) string {
	profiles := why.T("profiles", strings.Join(f.Profiles, ", "))
	if f.Kind == records.Late {
		return say.Say("records.late", why.T("text", f.Says), why.T("day", f.Until), profiles)
	}
	key := "records.missing"
	if f.Kind == records.Invalid {
		key = "records.malformed"
	}
	return say.Say(key, why.T("field", fieldName(f.What, say)), why.T("text", f.Says), profiles)
}

// fieldName is a field in plain words; by its own name where a profile asks what the
// catalogue does not know yet.
func fieldName(field string, say *words.Printer) string {
	if said := say.Say("field." + field); !strings.HasPrefix(said, "⟨") {
		return said
	}
	return field
}

// Due says what is due, by when, and for how many records.
func Due(d records.Duty, say *words.Printer) string {
	key := "records.duty"
	switch {
	case !d.Done.IsZero():
		key = "records.duty_done"
	case d.Late:
		key = "records.duty_late"
	case d.Profile == "":
		key = "records.duty_keep"
	}
	return say.Say(key, why.T("day", d.Due.String()), why.T("text", d.Says), why.T("period", d.Subject), why.T("n", d.Records), why.T("time", d.Done.String()))
}

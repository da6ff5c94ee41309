package pile

import (
	"sapwell/engine/why"
	"sapwell/records"
	"sapwell/words"
)

// Miss says what was found in a record, and which profiles ask it.
func Miss(f records.Found, say *words.Printer) string {
	key, blanks := f.Phrase(say.Field)
	return say.Say(key, blanks...)
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

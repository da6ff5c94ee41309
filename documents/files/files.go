// Package files answers: how do the facts stand in a file that other programs
// read?
//
// One shape a kind of reader: CSV for spreadsheets (RFC 4180), JSON with its
// schema (JSON Schema 2020-12), GeoJSON for maps (RFC 7946), iCalendar for
// calendars (RFC 5545). It writes what it is handed, in the order it is handed,
// the same bytes for the same input, to an io.Writer and never more than one
// piece of it in memory. doc/files.md says what each field is.
package files

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"strings"
)

// out keeps the first error of a file that is written piece by piece.
type out struct {
	w   *bufio.Writer
	err error
}

func newOut(w io.Writer) *out { return &out{w: bufio.NewWriterSize(w, 32<<10)} }

func (o *out) put(parts ...string) {
	for _, s := range parts {
		if o.err == nil {
			_, o.err = o.w.WriteString(s)
		}
	}
}

func (o *out) close() error {
	if o.err == nil {
		o.err = o.w.Flush()
	}
	return o.err
}

// plainJSON is one value on one line, without the escapes that only a web page
// needs; members of maps in the order of their names.
func plainJSON(v any) (string, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	err := enc.Encode(v)
	return strings.TrimSuffix(b.String(), "\n"), err
}

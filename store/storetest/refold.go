package storetest

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

// Refold folds the entries of an export, each subject at once and from nothing,
// and writes the rows as Rows does. It shares no code with any store.
func Refold(export []byte) (string, error) {
	told := make(map[entries.Subject][]views.Item)
	times := make(map[journal.Hash]int64)
	for line := range bytes.Lines(export) {
		e, err := journal.ReadEntry(bytes.TrimSuffix(line, []byte("\n")))
		if err != nil {
			continue // a receipt or a head; journal.Verify has seen to the rest
		}
		times[e.Hash()] = max(e.Time, times[e.Prev])
		read, err := entries.Read(e)
		if err != nil {
			continue
		}
		place := views.Place{Time: times[e.Hash()], Device: e.Device, Seq: e.Seq, Hash: e.Hash()}
		for _, s := range read.Body.About(e.ID) {
			told[s] = append(told[s], views.Item{Entry: read, Place: place})
		}
	}
	var rows []views.Row
	for s, items := range told {
		row, err := views.Fold(s, items)
		if err != nil {
			return "", err
		}
		rows = append(rows, row)
	}
	slices.SortFunc(rows, func(a, b views.Row) int {
		return cmp.Or(cmp.Compare(slices.Index(kinds, a.Subject.Kind), slices.Index(kinds, b.Subject.Kind)),
			cmp.Compare(a.Key, b.Key), cmp.Compare(a.Subject.ID, b.Subject.ID))
	})
	var out strings.Builder
	for _, row := range rows {
		fmt.Fprintln(&out, rowText(row))
	}
	return out.String(), nil
}

package files

import (
	_ "embed"
	"fmt"
	"io"
	"iter"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/records"
)

// recordsSchema is the shape of what RecordsJSON writes (JSON Schema 2020-12). It
// knows shapes only: what a law finds missing or malformed in a record is for the
// check to say, and such a record must still be handed over.
//
//go:embed records.schema.json
var recordsSchema []byte

// RecordsSchema is the published shape of a file of records.
func RecordsSchema() []byte { return append([]byte(nil), recordsSchema...) }

// From says whose records a file holds, and as of when.
type From struct {
	Firm string
	Day  quantity.Date
}

// RecordsJSON writes records one a line, each as records.Parse reads it, in a
// frame that says whose they are.
func RecordsJSON(w io.Writer, from From, all iter.Seq2[records.Record, error]) error {
	firm, err := plainJSON(from.Firm)
	if err != nil {
		return err
	}
	o := newOut(w)
	o.put(`{"format":"sapwell-records-1","firm":`, firm, `,"day":"`, from.Day.String(), `","note":"not legal advice","records":[`)
	mark := "\n"
	for r, err := range all {
		if err != nil {
			return err
		}
		o.put(mark, string(r.JSON()))
		mark = ",\n"
	}
	o.put("\n]}\n")
	return o.close()
}

// sort is what a column of a table of records holds.
type sort int

const (
	words  sort = iota // somebody's text, guarded
	figure             // a number as JSON writes it
	truth              // true or false
	list               // a JSON array
)

// column is a fact of a record that has a column of its own.
type column struct {
	name string
	sort sort
}

// restColumn holds what has no column, or is not of its column's sort, as one
// JSON object: nothing is lost on the way through a table.
const restColumn = "further"

// columns are in the order of the matrix of fields, amounts as value and unit.
// An order is a promise to whoever reads the file by number: add at the end.
func columns() []column {
	var cs []column
	add := func(s sort, names ...string) {
		for _, n := range names {
			cs = append(cs, column{n, s})
		}
	}
	amount := func(names ...string) {
		for _, n := range names {
			cs = append(cs, column{n + ".value", figure}, column{n + ".unit", words})
		}
	}
	add(words, "record.id", "date", "time.start", "time.end", "recorded_at", "electronic_at", "as_of")
	add(words, "signature.by", "signature.at", "signature.meaning")
	add(words, "business.id", "business.name", "business.address", "business.phone", "business.reg_no")
	add(figure, "business.keep_years")
	add(words, "applicator.name", "applicator.cert_no", "applicator.cert_expiry", "applicator.cert_authority", "applied_by", "applied_by_name")
	add(words, "operator.name", "operator.qualification_ref", "client.name", "client.address", "property_operator.name")
	add(words, "site.name", "site.context", "site.location", "site.spot_description", "site.address", "site.zip", "site.municipality", "site.county", "site.region", "site.country")
	add(list, "site.geo")
	add(words, "site.type", "site.trs", "operator_id_no", "site_id_no", "crop.name", "crop.eppo", "crop.bbch", "tree.id", "tree.species")
	amount("tree.circumference", "tree.measured_at_height")
	add(words, "target.pest", "target.eppo", "product.name", "product.reg_no", "product.registrant", "product.eppo", "product.lot")
	add(list, "product.ai")
	add(truth, "product.fictional")
	add(words, "label.id", "label.version")
	add(truth, "label.rup", "label.time_restricted", "label.stage_restricted")
	add(words, "label.re_entry")
	add(figure, "label.re_entry_hours")
	add(words, "food.tapping", "food.pre_harvest_text", "food.harvest_earliest", "food.grazing", "food.grazing_text", "food.grazing_earliest")
	add(figure, "food.pre_harvest_days", "food.grazing_days")
	amount("amount.total", "amount.filled", "amount.left", "amount.rate", "area.size", "area.planted")
	add(figure, "area.footprint_m2")
	add(words, "type_of_use", "method")
	amount("weather.air_temp", "weather.wind", "weather.humidity")
	add(words, "weather.rain")
	add(figure, "units.installed", "units.retrieved", "units.lost", "holes.count")
	add(words, "waste.batch", "waste.hazardous", "waste.code", "waste.destination", "waste.proof", "waste.handed_at", "waste.until", "contract.ref", "marker.posted_at")
	add(figure, "marker.width_in", "marker.height_in", "marker.above_ground_in", "marker.letter_height_in", "marker.stay_off_hours")
	add(words, "customer_copy.given_at", "reports.ca_monthly", "reports.ny_annual")
	add(truth, "ctx.commercial", "ctx.agricultural", "ctx.greenhouse_or_nursery", "ctx.golf_or_turf_farm", "ctx.agency", "ctx.within_100_ft", "ctx.ms_long_deadline", "ctx.ms_paper_until_2027")
	add(truth, "waste.bagged")
	add(truth, "assumed.ctx.commercial", "assumed.applicator.cert_expiry")
	add(list, "profiles")
	add(words, "profiles_why")
	add(list, "amendments")
	return append(cs, column{restColumn, list})
}

// RecordsCSV writes records one a line. Texts are guarded, see Guard; ParseRecordsCSV
// undoes that.
func RecordsCSV(w io.Writer, all iter.Seq2[records.Record, error]) error {
	cs := columns()
	names := make([]string, len(cs))
	for i, c := range cs {
		names[i] = c.name
	}
	table := NewCSV(w, names...)
	cells := make([]string, len(cs))
	for r, err := range all {
		if err == nil {
			err = toCells(r, cs, cells)
		}
		if err != nil {
			return err
		}
		table.Row(cells...)
	}
	return table.Close()
}

// ParseRecordsCSV reads what RecordsCSV wrote, the columns in any order. An error
// names the line and the column.
func ParseRecordsCSV(r io.Reader) iter.Seq2[records.Record, error] {
	return func(yield func(records.Record, error) bool) {
		var cs []column
		row := 0
		for cells, err := range ReadCSV(r) {
			row++
			var rec records.Record
			switch {
			case err != nil:
			case cs == nil:
				if cs, err = named(cells); err == nil {
					continue
				}
			default:
				rec, err = fromCells(cells, cs)
			}
			if err != nil {
				err = fmt.Errorf("row %d: %w", row, err)
			}
			if !yield(rec, err) || err != nil {
				return
			}
		}
	}
}

// named finds the columns of a table by its first line.
func named(names []string) ([]column, error) {
	known := map[string]column{}
	for _, c := range columns() {
		known[c.name] = c
	}
	cs := make([]column, len(names))
	for i, n := range names {
		c, ok := known[n]
		if !ok {
			return nil, fmt.Errorf("column %.60q is not known, or stands there twice: want those of doc/files.md", n)
		}
		delete(known, n)
		cs[i] = c
	}
	return cs, nil
}

// path is a dotted name in its parts.
func (c column) path() []string { return strings.Split(c.name, ".") }

package treelist

import (
	"errors"
	"strconv"
	"strings"

	"sapwell/engine/host"
)

// text is what is said of a fault, in English: what is wrong with the value, and
// what would be accepted. {blanks} are terms of the fault. words has the same
// under "fault.trees.<code>", in every language; a test holds the two together.
type text struct{ is, want string }

var texts = map[string]text{
	// The file and its heading.
	"empty":          {"the list is empty", "a heading and one row a stem; required columns: {required}"},
	"no_column":      {"the list has no such column, so none of its rows can be read", "a heading with the columns {required}"},
	"unknown_column": {"no such column is known; it is not read", "the nearest column is {near}; a heading that begins with x_ is left alone"},
	"column_twice":   {"stands for the same column as {other}", "one of the two"},
	"unheaded":       {`"{value}" stands under no heading`, "a heading over every column that is used"},
	// A row as a whole.
	"encoding":       {`"{value}" holds a byte that is not UTF-8`, `the list saved as UTF-8 ("CSV UTF-8")`},
	"lost_character": {`"{value}" holds a character that was lost before the list was saved`, "the row typed again, in a list saved as UTF-8"},
	"nul":            {`"{value}" holds a NUL byte`, "plain text, saved as UTF-8"},
	"long_line":      {"the row is longer than 1 MiB", "one row a stem, a few hundred bytes long"},
	"quote":          {"the row has a quotation mark that is not closed, or text after a closed one", "marks round a whole cell, and two for one inside it"},
	"fields":         {"the row has {count} cells under {width} headings", "{width} cells; quotation marks round a cell that holds the separator"},
	// Cells.
	"missing":        {"nothing is said", "a value"},
	"length":         {`"{value}" is not a length`, `a number with its unit, such as 96 in, 8' 2", 8 1/2 in or 244 cm`},
	"unit":           {`"{value}" has no unit`, "a number with its unit, such as 96 in or 244 cm, or the unit in the heading, such as girth_in"},
	"unit_conflict":  {`"{value}" has another unit than its heading, which says {unit}`, "the unit of the heading, or a heading without one"},
	"decimal_comma":  {`"{value}" has a decimal comma`, "a decimal point; or semicolons between the cells, then a comma is read"},
	"decimal_point":  {`"{value}" has a decimal point where a comma is expected`, "a decimal comma, as in every list with semicolons between its cells"},
	"girth_range":    {`"{value}" is not the girth of a tree`, "from 1 in to 45 m (2.54 cm to 147 ft)"},
	"diameter_range": {`"{value}" is not the diameter of a tree`, "from 1/4 in to 14 m (6.35 mm to 46 ft)"},
	"height_range":   {`"{value}" is not a height at which a girth is read here`, "above ground, up to 10 ft (3 m)"},
	"both":           {`"{value}" is given, and so is a second girth`, "dbh with dbh_height, or girth2 with girth2_height"},
	"answer":         {`"{value}" is neither yes nor no`, "yes, no, or nothing when it is not known"},
	"percent":        {`"{value}" is not a whole percentage`, "a whole number from 0 to 100, such as 15 or 15 %"},
	"stage":          {`"{value}" is not a growth stage`, "a BBCH stage, a whole number from 0 to 99, such as 69 for the end of bloom"},
	"long_text":      {`"{value}" is too long`, "up to {most} bytes"},
	"ground":         {`"{value}" is no side of a slope`, "level, uphill, mid-slope, or nothing"},
	"direction":      {`"{value}" is no direction of the tape`, "clockwise or counter-clockwise, seen from above"},
	"jurisdiction":   {`"{value}" is no jurisdiction known here`, "US, EU or UK"},
	"day":            {`"{value}" is not a date`, "year, month and day, such as 2026-06-09"},
	"future":         {`"{value}" lies after the day of work`, "a day up to the day of work"},
	"species":        {`"{value}" is no tree known here`, "a scientific name, an English common name or an EPPO code"},
	"species_near":   {`"{value}" is no one tree known here`, "perhaps one of: {near}"},
	"treatment":      {`"{value}" is not an earlier treatment`, "date; active ingredient; label; volume, such as 2024-06-10; emamectin benzoate; demo-a; 64 mL; a | between two"},
	// Places on the ring.
	"position_outside": {`"{value}" does not lie on the ring`, "from 0 to the girth"},
	"fissure":          {`"{value}" is not a place on the ring`, "places separated by ; such as 3; 9 1/2; 14 in"},
	"thickness":        {`"{value}" is not the thickness of bark on this stem`, "above 0 and less than the radius, such as 12 in: 5/8 in"},
	"arc":              {`"{value}" is not a stretch of the ring`, "its two ends and what it is, such as 12-16 in canker"},
	"arc_ends":         {`"{value}" begins where it ends`, "two different ends; 90-2 in runs through the zero"},
	"dash":             {`"{value}" may be a length or a stretch`, "9 1/2 in for the length, or 9 to 1/2 in for the stretch"},
	"kind":             {`"{kind}" is no kind of defect`, "defect, canker, cavity, crack, dead cambium or girdling root"},
	"wound":            {`"{value}" is not an old hole`, "place, date, width and height, such as 22 in 2024-05-10 w 3/16 in h 12 in; all but the place may be left out"},
	"wound_size":       {`"{value}" has a width or height that cannot be`, "a width (w) up to the girth, a height (h) up to 10 ft, both above 0"},
	// Rows of one tree.
	"tag_again":  {`"{value}" is the tag of a tree on line {first} already`, "one tag a tree; the stems of one tree in rows that follow each other"},
	"stem_again": {`stem "{value}" stands twice in tree {tag}, whose rows begin on line {first}`, "another name in the column stem, or another tag"},
	"conflict":   {`"{value}" differs from line {first} of the same tree, which says "{other}"`, "the same, or nothing"},
	// JSON.
	"json":        {"the list ends here: the JSON is damaged ({value})", "a JSON array of objects"},
	"json_end":    {"the list ends in the middle", "a whole JSON array"},
	"json_shape":  {"this is not an array of objects, or something follows it", "one JSON array of objects"},
	"json_object": {`"{value}" is not an object`, "an object with the keys of a tree list"},
	"json_value":  {`"{value}" is no value for a cell`, "text, a number, true, false, null, or an array of these"},
	// Lots.
	"count":       {`"{value}" is not a number of units`, "a whole number from 0 to 1000000"},
	"volume":      {`"{value}" is not a volume`, "above 0, with its unit, such as 4 mL"},
	"temperature": {`"{value}" is not a temperature of a store`, "from -90 to 90 °C, with its unit, such as 12 °C or 54 °F"},
	"expiry":      {`"{value}" is not a date`, "year, month and day, or year and month for the last day of it, such as 2027-03-31 or 2027-03"},
	"lot_again":   {`"{value}" is a lot of line {first} already`, "one row a lot, label and size"},
	"cold_warm":   {`"{value}" is colder than the coldest, {other}`, "coldest up to warmest"},
	"lots_many":   {"the list is cut after {most} rows", "one store at a time"},
}

// near lists the names that were perhaps meant by a species.
func near(err error) string {
	var unknown *host.UnknownError
	var several *host.AmbiguousError
	switch {
	case errors.As(err, &unknown):
		return strings.Join(unknown.Near, ", ")
	case errors.As(err, &several):
		return strings.Join(several.Matches, ", ")
	}
	return ""
}

func lineText(line int) string { return strconv.Itoa(line) }

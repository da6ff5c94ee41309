package main

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"sapwell/actions"
	"sapwell/engine/bole"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
	"sapwell/labelfile"
	"sapwell/treelist"
)

// columns is how wide a terminal may be taken to be.
const columns = 80

// printFault prints a label's fault: place, sentence, remedy. A fault of the file
// as a whole has no line and no key.
func (w world) printFault(out io.Writer, f labelfile.Fault) {
	sentence, remedy := w.say.Finding(f.Finding)
	where, key := f.File, ""
	if f.Line > 0 {
		where = fmt.Sprintf("%s:%d:%d", f.File, f.Line, f.Column)
	}
	if f.Place != "" {
		key = f.Place + ": "
	}
	fmt.Fprintf(out, "%s: %s: %s%s\n", where, w.say.Say("severity."+string(f.Severity)), key, sentence)
	if remedy != "" {
		fmt.Fprintln(out, "    "+remedy)
	}
}

// listFault says what is wrong with a row, in the person's language where the
// catalogue has the fault.
func (w world) listFault(err error) string {
	f, ok := errors.AsType[*treelist.Fault](err)
	if !ok {
		return err.Error()
	}
	column := ""
	if f.Column != "" {
		column = f.Column + ": "
	}
	return fmt.Sprintf("%s:%d: %s%s", f.File, f.Line, column, w.say.Say("fault.trees."+f.Code, f.Terms...))
}

// table widths: tag, host, girth, units, total, stop; the verdict takes the rest.
const rowFormat = "%-9s %-22s %9s %5s %8s %10s  %s\n"

// writeTable writes one line a stem, its tape readings under it, and what was
// found on the tree, all within 80 columns. Like the other writers it writes
// nothing where there is no plan.
func writeTable(out io.Writer, plans iter.Seq[planned], w world, reasons bool) error {
	b := bufio.NewWriter(out)
	heading := w.heading()
	for p := range plans {
		b.WriteString(heading)
		heading = ""
		for i, s := range p.Stems {
			fmt.Fprintf(b, rowFormat, fit(p.StemTag(s), 9), fit(p.Host, 22), s.Girth.Around.Tape(w.say.Style),
				number(s.Dose.Units), volume(s.Dose.Total, w), stop(s, w), w.verdict(p.Plan, i))
			if p.Go() {
				wrapTo(b, "  ", readings(s, w))
			}
			if reasons {
				w.reasons(b, s)
			}
		}
		if d := p.Equivalent; d != nil {
			wrapTo(b, "  ", w.say.Say("plan.equivalent", count("n", len(p.Stems)), why.T("diameter", *d)))
		}
		for _, f := range graveOnly(p.Plan) {
			w.finding(b, f, reasons)
		}
		if reasons {
			for _, f := range slices.Concat(p.Opinion.Open, p.Opinion.Notes) {
				w.finding(b, f, true)
			}
		}
	}
	return b.Flush()
}

func (w world) heading() string {
	head := func(key string) string { return w.say.Say("plan.head." + key) }
	return fmt.Sprintf(rowFormat, head("tag"), head("host"), head("girth"), head("units"), head("total"), head("stop"), head("verdict"))
}

func (w world) verdict(p actions.Plan, stem int) string {
	if stem > 0 {
		return ""
	}
	text := w.say.Say("plan.verdict." + string(p.Opinion.Overall))
	if !w.colour {
		return text
	}
	return map[verdict.Overall]string{verdict.Stop: "\x1b[1;31m", verdict.AskFirst: "\x1b[1m", verdict.Caution: "\x1b[33m"}[p.Opinion.Overall] + text + "\x1b[0m"
}

// finding prints a finding with its remedy, and if asked its code and source.
func (w world) finding(b io.Writer, f why.Finding, source bool) {
	sentence, remedy := w.say.Finding(f)
	wrapTo(b, "  ", w.say.Say("severity."+string(f.Severity))+": "+sentence+" "+remedy)
	if source {
		wrapTo(b, "    ", f.Code+" - "+w.say.Source(f.Source))
	}
}

// reasons prints how each number of a stem came to be.
func (w world) reasons(b io.Writer, s actions.StemPlan) {
	all := []why.Reason{s.Dose.Why}
	if s.Marks != nil {
		all = append(all, s.Marks.Why)
	}
	if s.Bore != nil {
		all = append(all, s.Bore.Why)
	}
	if s.Unit != nil {
		if s.Unit.Gas != nil {
			all = append(all, s.Unit.Gas.Why)
		}
		all = append(all, s.Unit.Forecast.Why)
	}
	for _, r := range all {
		for _, line := range w.say.Reason(r) {
			indent := line[:len(line)-len(strings.TrimLeft(line, " "))]
			wrapTo(b, "    "+indent, strings.TrimLeft(line, " "))
		}
	}
}

func readings(s actions.StemPlan, w world) string {
	if s.Marks == nil || len(s.Marks.Positions) == 0 {
		return ""
	}
	var list []string
	unit := ""
	for _, at := range s.Marks.Positions {
		text := at.Tape(w.say.Style)
		cut := strings.LastIndexByte(text, ' ') // "12 1/8 in": the unit is said once, at the end
		list, unit = append(list, strings.ReplaceAll(text[:cut], " ", unbroken)), text[cut+1:]
	}
	return w.say.Say("plan.at."+way(s.Zero), why.T("marks", strings.Join(list, ", ")), why.T("unit", unit), why.T("zero", zero(s, w)))
}

// way is the direction of the tape seen from above, in the words of a tree list.
func way(z bole.Zero) string {
	if z.CounterClockwise {
		return "counter-clockwise"
	}
	return "clockwise"
}

// zero is the name of the face where the tape starts.
func zero(s actions.StemPlan, w world) string {
	if s.Zero.Face == "" {
		return w.say.Say("plan.zero")
	}
	return s.Zero.Face
}

func number(n int) string {
	if n == 0 {
		return "-"
	}
	return strconv.Itoa(n)
}

func volume(v quantity.Volume, w world) string {
	if v == 0 {
		return "-"
	}
	return v.Text(w.say.Style)
}

func stop(s actions.StemPlan, w world) string {
	if s.Bore == nil || s.Bore.Stop == 0 {
		return "-"
	}
	if w.say.Style.System == quantity.Imperial {
		return s.Bore.Stop.Frac(16) // the stop is set in sixteenths
	}
	return s.Bore.Stop.Text(w.say.Style)
}

// fit shortens text to n columns and says so with an ellipsis.
func fit(s string, n int) string {
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	return string([]rune(s)[:n-1]) + "…"
}

func pad(s string, n int) string {
	return s + strings.Repeat(" ", max(1, n-utf8.RuneCountInString(s)))
}

// unbroken is a space at which no line breaks: 12 1/8 stays together.
const unbroken = "\u00a0"

// wrapTo writes text in lines of at most 80 columns, each after the indent.
func wrapTo(out io.Writer, indent, text string) {
	room := columns - len(indent)
	line := ""
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || r == '\n' }) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > room {
			fmt.Fprintln(out, indent+line)
			line = ""
		}
		line = strings.TrimPrefix(line+" "+strings.ReplaceAll(word, unbroken, " "), " ")
	}
	if line != "" {
		fmt.Fprintln(out, indent+line)
	}
}

// writeJSON streams a list with one plan a line, as the workers encoded it.
func writeJSON(out io.Writer, plans iter.Seq[planned]) error {
	b := bufio.NewWriter(out)
	between := "[\n"
	for p := range plans {
		b.WriteString(between)
		b.Write(p.json)
		between = ",\n"
	}
	if between != "[\n" {
		b.WriteString("\n]\n")
	}
	return b.Flush()
}

// writeCSV writes one row a stem; lengths in the person's units, named in the
// heading.
func writeCSV(out io.Writer, plans iter.Seq[planned], style quantity.Style) error {
	c := csv.NewWriter(out)
	unit, length := "cm", func(l quantity.Length) string { return decimal(l.Millimetres() / 10) }
	if style.System == quantity.Imperial {
		unit, length = "in", func(l quantity.Length) string { return decimal(l.Inches()) }
	}
	heading := []string{"tag", "stem", "host", "label", "verdict", "girth_" + unit, "units", "total_mL", "stop_" + unit,
		"zero", "direction", "marks_" + unit, "drain_p50_min", "drain_p90_min", "findings"}
	for p := range plans {
		if heading != nil {
			c.Write(heading)
			heading = nil
		}
		for _, s := range p.Stems {
			row := []string{guard(p.Tag), guard(s.Name), p.Host, p.Label, string(p.Opinion.Overall), length(s.Girth.Around),
				strconv.Itoa(s.Dose.Units), decimal(s.Dose.Total.Millilitres()), "", guard(s.Zero.Face), way(s.Zero), "", "", "", codes(p.Opinion.Findings)}
			if s.Bore != nil && s.Bore.Stop > 0 {
				row[8] = length(s.Bore.Stop)
			}
			if s.Marks != nil && p.Go() {
				row[11] = list(s.Marks.Positions, length)
			}
			if s.Unit != nil {
				row[12], row[13] = decimal(s.Unit.Forecast.P50.Minutes()), decimal(s.Unit.Forecast.P90.Minutes())
			}
			c.Write(row)
		}
	}
	c.Flush()
	return c.Error()
}

// decimal prints four decimals at most: 1/16 in is 0.0625, and no tape shows more.
func decimal(f float64) string { return strconv.FormatFloat(math.Round(f*1e4)/1e4, 'f', -1, 64) }

func list(ls []quantity.Length, length func(quantity.Length) string) string {
	var texts []string
	for _, l := range ls {
		texts = append(texts, length(l))
	}
	return strings.Join(texts, ";")
}

func codes(fs []why.Finding) string {
	var list []string
	for _, f := range fs {
		list = append(list, f.Code)
	}
	return strings.Join(list, ";")
}

// guard keeps a spreadsheet from taking a text of ours for a formula.
func guard(s string) string {
	if s != "" && strings.ContainsAny(s[:1], "=+-@\t\r") {
		return "'" + s
	}
	return s
}

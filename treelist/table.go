package treelist

import (
	"errors"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// maxCellLines is how many lines one quoted cell may run over. A quotation mark
// that is never closed would otherwise swallow the rest of the list.
const maxCellLines = 40

// table reads records under a heading: comma, semicolon or tab between cells,
// quotation marks as RFC 4180 has them, and one more freedom: a mark inside a
// cell that does not begin with one stands for itself, for people write 96".
type table struct {
	file    string
	lines   *lines
	heads   headings
	sep     byte
	comma   bool  // a decimal comma is to be expected
	at      []int // by column: place in a record; -1: the list does not have it
	units   []string
	names   []string // the heading as written
	width   int
	opening []error // faults of the heading
	usable  bool    // rows can be read
	fields  []string
}

// record is one record, or what is wrong with it.
type record struct {
	line   int
	fields []string
	fault  *Fault
}

// cell returns a field, if there is one at that place.
func (r record) cell(i int) (string, bool) {
	if i < 0 || i >= len(r.fields) {
		return "", false
	}
	return strings.TrimSpace(r.fields[i]), true
}

// openTable reads the heading. The error is one of reading r.
func openTable(file string, r io.Reader, list []heading) (*table, error) {
	text, err := decoded(r)
	if err != nil {
		return nil, err
	}
	t := &table{file: file, lines: newLines(text), heads: newHeadings(list)}
	line, err := t.headingLine()
	switch {
	case err == io.EOF:
		t.opening = append(t.opening, newFault(file, 1, "", "", "empty", "required", t.requiredNames()))
		return t, nil
	case err != nil && !errors.Is(err, errLong):
		return nil, err
	}
	if code, value := damage(line, err); code != "" {
		t.opening = append(t.opening, newFault(file, t.lines.n, "", value, code))
		return t, nil
	}
	t.readHeading(line)
	return t, nil
}

// headingLine skips empty lines and a line like "sep=;" that spreadsheets write.
func (t *table) headingLine() (string, error) {
	for {
		line, err := t.lines.next()
		if err != nil {
			return line, err
		}
		if sep, ok := strings.CutPrefix(line, "sep="); ok && len(sep) == 1 {
			t.sep = sep[0]
		} else if strings.TrimSpace(line) != "" {
			return line, nil
		}
	}
}

// readHeading finds the separator, then the place of every column.
func (t *table) readHeading(line string) {
	if t.sep == 0 {
		t.sep = t.separator(line)
	}
	t.comma = t.sep == ';'
	names, state := split(line, t.sep, nil)
	for i := range names {
		names[i] = strings.TrimSpace(names[i])
	}
	t.names, t.width = names, len(names)
	t.at = slices.Repeat([]int{-1}, len(t.heads.list))
	t.units = make([]string, len(t.heads.list))
	t.usable = true
	if state != closed {
		t.complain("", line, "quote", true)
	}
	for i, name := range names {
		t.place(i, name)
	}
	for _, c := range t.heads.required() {
		if t.usable && t.at[c] < 0 {
			t.complain(t.heads.list[c].name, "", "no_column", false, "required", t.requiredNames())
		}
	}
	for _, c := range t.heads.required() {
		t.usable = t.usable && t.at[c] >= 0
	}
}

// place finds the column of one heading.
func (t *table) place(i int, name string) {
	p, ok := t.heads.find(name)
	switch {
	case name == "" || strings.HasPrefix(plain(name), "x_"):
	case !ok:
		t.complain(name, name, "unknown_column", false, "near", t.heads.nearest(name))
	case t.at[p.col] >= 0:
		t.complain(name, name, "column_twice", true, "other", t.names[t.at[p.col]])
	default:
		t.at[p.col], t.units[p.col] = i, p.unit
	}
}

// complain notes a fault of the heading; a fatal one ends the reading.
func (t *table) complain(column, value, code string, fatal bool, extra ...string) {
	t.opening = append(t.opening, newFault(t.file, t.lines.n, column, value, code, extra...))
	t.usable = t.usable && !fatal
}

func (t *table) requiredNames() string {
	var out []string
	for _, c := range t.heads.required() {
		out = append(out, t.heads.list[c].name)
	}
	return strings.Join(out, ", ")
}

// separator is the one that makes the most columns we know out of the heading.
func (t *table) separator(line string) byte {
	best, most := byte(','), -1
	for _, sep := range []byte{',', ';', '\t'} {
		known := 0
		names, _ := split(line, sep, nil)
		for _, name := range names {
			if _, ok := t.heads.find(name); ok {
				known++
			}
		}
		if known > most {
			best, most = sep, known
		}
	}
	return best
}

// cell returns what a record says in a column, with its heading.
func (t *table) cell(rec record, c column) cell {
	i := t.at[c]
	if i < 0 {
		return cell{head: t.heads.list[c].name, line: rec.line}
	}
	text, _ := rec.cell(i)
	return cell{text, t.units[c], t.names[i], rec.line}
}

// next returns the next record that is not blank, or io.EOF. Its fields are
// overwritten by the next call.
func (t *table) next() (record, error) {
	for {
		line, err := t.lines.next()
		if err != nil && !errors.Is(err, errLong) {
			return record{}, err
		}
		rec := record{line: t.lines.n}
		if code, value := damage(line, err); code == "long_line" {
			rec.fault = newFault(t.file, rec.line, "", value, code)
			return rec, nil
		}
		t.record(line, &rec)
		if rec.fault != nil || !blank(rec.fields) {
			return rec, nil
		}
	}
}

// record splits a line, and the lines a quoted cell runs on over, into fields.
func (t *table) record(line string, rec *record) {
	fields, state := split(line, t.sep, t.fields[:0])
	if state == opened {
		line, fields, state = t.longer(line)
	}
	t.fields, rec.fields = fields, fields
	code, value := damage(line, nil)
	switch {
	case code != "":
		rec.fault = newFault(t.file, rec.line, t.damaged(fields), value, code)
	case state != closed:
		rec.fault = newFault(t.file, rec.line, "", line, "quote")
	case blank(fields):
	case len(fields) != t.width:
		rec.fault = newFault(t.file, rec.line, "", line, "fields",
			"count", strconv.Itoa(len(fields)), "width", strconv.Itoa(t.width))
	default:
		rec.fault = t.unheaded(rec)
	}
}

// longer adds lines until the quoted cell is closed. When that does not give a
// record of the right width, the mark was never closed, and the lines after the
// first are given back to be read as records of their own.
func (t *table) longer(first string) (string, []string, quoting) {
	whole, more := first, []taken(nil)
	for len(more) < maxCellLines && len(whole) < maxLine {
		line, err := t.lines.next()
		if err != nil && !errors.Is(err, errLong) {
			break // told again to whoever reads on
		}
		more = append(more, taken{line, err})
		whole += "\n" + line
		fields, state := split(whole, t.sep, t.fields[:0])
		if err == nil && state == closed && len(fields) == t.width {
			return whole, fields, state
		}
		if err != nil || state != opened {
			break
		}
	}
	t.lines.unread(more)
	fields, _ := split(first, t.sep, t.fields[:0])
	return first, fields, opened
}

// damaged names the column of the first field that is damaged.
func (t *table) damaged(fields []string) string {
	for i, field := range fields {
		if code, _ := damage(field, nil); code != "" && i < t.width {
			return t.headingOf(i)
		}
	}
	return ""
}

// unheaded complains of a value under no heading; it would be lost silently.
func (t *table) unheaded(rec *record) *Fault {
	for i, name := range t.names {
		if name == "" && strings.TrimSpace(rec.fields[i]) != "" {
			return newFault(t.file, rec.line, numbered(i), rec.fields[i], "unheaded")
		}
	}
	return nil
}

func (t *table) headingOf(i int) string {
	if t.names[i] == "" {
		return numbered(i)
	}
	return t.names[i]
}

// damage tells what makes a text unfit to be looked at, with the part of it to
// show: too long, bytes that are not UTF-8, a NUL, or the mark that stands for
// a character lost on the way here.
func damage(text string, err error) (code, value string) {
	switch {
	case errors.Is(err, errLong):
		return "long_line", text
	case !utf8.ValidString(text):
		return "encoding", around(text, firstInvalid(text))
	case strings.IndexByte(text, 0) >= 0:
		return "nul", around(text, strings.IndexByte(text, 0))
	case strings.ContainsRune(text, utf8.RuneError):
		return "lost_character", around(text, strings.IndexRune(text, utf8.RuneError))
	}
	return "", ""
}

// around shows what stands about a place.
func around(text string, at int) string {
	from, to := max(0, at-20), min(len(text), at+20)
	for from > 0 && !utf8.RuneStart(text[from]) {
		from--
	}
	return text[from:to]
}

func firstInvalid(s string) int {
	for i, r := range s {
		if r == utf8.RuneError {
			if _, n := utf8.DecodeRuneInString(s[i:]); n == 1 {
				return i
			}
		}
	}
	return 0
}

func blank(fields []string) bool {
	for _, f := range fields {
		if strings.TrimSpace(f) != "" {
			return false
		}
	}
	return true
}

// quoting is how a split ended.
type quoting int

const (
	closed quoting = iota // all is well
	opened                // inside a quoted cell
	broken                // text follows a closed quoted cell
)

// split cuts a line into fields, appended to into. Spaces round a quoted cell
// do not count.
func split(line string, sep byte, into []string) ([]string, quoting) {
	for {
		if first := strings.TrimLeft(line, " "); strings.HasPrefix(first, `"`) {
			field, rest, ok := unquote(first)
			into = append(into, field)
			rest = strings.TrimLeft(rest, " ")
			switch {
			case !ok:
				return into, opened
			case rest == "":
				return into, closed
			case rest[0] != sep:
				return into, broken
			}
			line = rest[1:]
			continue
		}
		i := strings.IndexByte(line, sep)
		if i < 0 {
			return append(into, line), closed
		}
		into = append(into, line[:i])
		line = line[i+1:]
	}
}

// unquote reads the quoted field at the front of s, two marks standing for one.
func unquote(s string) (field, rest string, ok bool) {
	for i := 1; ; {
		j := strings.IndexByte(s[i:], '"')
		if j < 0 {
			return s[1:], "", false
		}
		i += j + 1
		if i == len(s) || s[i] != '"' {
			return strings.ReplaceAll(s[1:i-1], `""`, `"`), s[i:], true
		}
		i++
	}
}

package files

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"strings"
)

// CSV is a table as RFC 4180 has it: lines end in CRLF, every line has as many
// cells as the first, a cell with a comma, a quote or a line end is quoted, and
// what is in a cell stays as it is, line ends and outer spaces too. The standard
// library's writer turns a lone LF into CRLF and drops a lone CR.
type CSV struct {
	out     *out
	columns int
}

// NewCSV begins a table with a line of its columns' names.
func NewCSV(w io.Writer, columns ...string) *CSV {
	c := &CSV{newOut(w), len(columns)}
	c.Row(columns...)
	return c
}

// Row writes one line. A text that somebody typed goes through Guard first; a
// number does not, or its minus would be taken for a formula's.
func (c *CSV) Row(cells ...string) {
	if len(cells) != c.columns && c.out.err == nil {
		c.out.err = fmt.Errorf("a row of %d cells: want %d, as many as columns", len(cells), c.columns)
	}
	for i, s := range cells {
		if i > 0 {
			c.out.put(",")
		}
		if strings.ContainsAny(s, ",\"\r\n") || c.columns == 1 && s == "" {
			s = `"` + strings.ReplaceAll(s, `"`, `""`) + `"`
		}
		c.out.put(s)
	}
	c.out.put("\r\n")
}

// Close writes out what is left, and says what went wrong first.
func (c *CSV) Close() error { return c.out.close() }

// formula begins what a spreadsheet may take for a formula: the four signs, their
// full-width forms, and what it skips before one.
const formula = "=+-@\t\r\n＝＋－＠"

// Guard puts an apostrophe in front of a text that a spreadsheet would take for
// a formula. A text that looks guarded already gets one too, so that Unguard
// gives back every text as it was.
func Guard(s string) string {
	if rest := strings.TrimLeft(s, "'"); rest != "" && startsFormula(rest) {
		return "'" + s
	}
	return s
}

// Unguard takes off what Guard put on, and nothing else: 's-Hertogenbosch keeps
// its apostrophe.
func Unguard(s string) string {
	if rest := strings.TrimLeft(s, "'"); len(rest) < len(s) && rest != "" && startsFormula(rest) {
		return s[1:]
	}
	return s
}

func startsFormula(s string) bool {
	for _, r := range s {
		return strings.ContainsRune(formula, r)
	}
	return false
}

// ReadCSV reads such a table, its first line included, and gives every cell as
// it was written. It takes LF for CRLF between lines, as files come back from
// other systems. An error names the line.
func ReadCSV(r io.Reader) iter.Seq2[[]string, error] {
	return func(yield func([]string, error) bool) {
		t := &tableReader{r: bufio.NewReader(r), line: 1}
		want := 0
		for {
			start := t.line
			cells, err := t.row()
			if err == io.EOF {
				return
			}
			if err == nil && want > 0 && len(cells) != want {
				err = fmt.Errorf("line %d has %d cells: want %d, as the first line", start, len(cells), want)
			}
			if want = len(cells); !yield(cells, err) || err != nil {
				return
			}
		}
	}
}

type tableReader struct {
	r    *bufio.Reader
	line int
}

// row reads up to the end of a line that is not inside quotes.
func (t *tableReader) row() ([]string, error) {
	if _, err := t.r.Peek(1); err != nil {
		return nil, err
	}
	var cells []string
	for {
		cell, last, err := t.cell()
		if err != nil {
			return nil, err
		}
		if cells = append(cells, cell); last {
			t.line++
			return cells, nil
		}
	}
}

// cell reads one cell and what ends it; last tells that the line ends too.
func (t *tableReader) cell() (text string, last bool, err error) {
	var b strings.Builder
	c, err := t.r.ReadByte()
	if err == nil && c == '"' {
		return t.quoted()
	}
	for ; err == nil && c != ',' && c != '\n'; c, err = t.r.ReadByte() {
		if c == '"' {
			return "", false, fmt.Errorf(`line %d: a quote inside a cell that has none around it: want "…""…"`, t.line)
		}
		b.WriteByte(c)
	}
	if err != nil && err != io.EOF {
		return "", false, err
	}
	text = b.String()
	if last = err == io.EOF || c == '\n'; last {
		text = strings.TrimSuffix(text, "\r")
	}
	if strings.Contains(text, "\r") {
		return "", false, fmt.Errorf("line %d: a carriage return inside a cell without quotes", t.line)
	}
	return text, last, nil
}

// quoted reads on after the opening quote.
func (t *tableReader) quoted() (text string, last bool, err error) {
	var b strings.Builder
	for {
		c, err := t.r.ReadByte()
		if err != nil {
			return "", false, fmt.Errorf("line %d: a quote is not closed", t.line)
		}
		if c == '\n' {
			t.line++
		}
		if c != '"' {
			b.WriteByte(c)
			continue
		}
		next, err := t.r.ReadByte()
		if err == nil && next == '\r' {
			next, err = t.r.ReadByte()
			if err != nil || next != '\n' {
				return "", false, fmt.Errorf("line %d: want a line feed after the carriage return", t.line)
			}
		}
		switch {
		case err == io.EOF || err == nil && next == '\n':
			return b.String(), true, nil
		case err != nil:
			return "", false, err
		case next == ',':
			return b.String(), false, nil
		case next != '"':
			return "", false, fmt.Errorf("line %d: %q after a closing quote: want a comma or the end of the line", t.line, next)
		}
		b.WriteByte('"')
	}
}

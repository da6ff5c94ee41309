package treelist

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"
)

// ReadJSON reads the same as ReadCSV from a JSON array of objects with the same
// keys. A value is text as in a cell, a number where the key ends in a unit
// ("girth_in": 96), true or false for yes and no, null for nothing, or an array
// of texts for a list. Damaged JSON ends the list: what follows it has no place.
func ReadJSON(name string, r io.Reader, o Options) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		b := newBuilder(name, o, yield)
		text, err := decoded(r)
		if err != nil {
			b.out(Row{}, err)
			return
		}
		src := &counted{r: text, line: 1, left: 2 * maxLine}
		j := &objects{b: b, src: src, dec: json.NewDecoder(src), heads: newHeadings(treeHeadings),
			places: make(map[string]place), unknown: make(map[string]bool)}
		j.dec.UseNumber() // a number of any length where no list is, is no list
		if err := j.array(); err != nil && !b.stopped && b.close() {
			b.out(Row{}, j.told(err))
		}
	}
}

// objects reads an array of objects, one at a time.
type objects struct {
	b       *builder
	src     *counted
	dec     *json.Decoder
	heads   headings
	places  map[string]place // by key as written
	unknown map[string]bool  // keys complained of
}

// errShape says that the JSON is sound and not an array of objects.
var errShape = errors.New("not an array of objects")

// array reads the whole text.
func (j *objects) array() error {
	if t, err := j.dec.Token(); err != nil {
		return err
	} else if t != json.Delim('[') {
		return errShape
	}
	for j.dec.More() {
		j.src.left = 2 * maxLine
		var raw json.RawMessage
		if err := j.dec.Decode(&raw); err != nil {
			return err
		}
		line := j.src.lineAt(j.dec.InputOffset() - int64(len(raw)))
		if len(raw) > maxLine {
			return errLong
		}
		if !j.object(raw, line) {
			return nil
		}
	}
	if _, err := j.dec.Token(); err != nil {
		return err
	}
	if _, err := j.dec.Token(); err != io.EOF {
		return errShape
	}
	j.b.close()
	return nil
}

// told makes a fault of what the decoder says, or passes an error of reading on.
func (j *objects) told(err error) error {
	line := j.src.lineAt(j.dec.InputOffset()) + j.linesToValue()
	var syntax *json.SyntaxError
	switch {
	case errors.Is(err, io.EOF) && j.dec.InputOffset() == 0:
		return newFault(j.b.file, 1, "", "", "json_shape")
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return newFault(j.b.file, j.src.lineAt(j.src.read), "", "", "json_end")
	case errors.As(err, &syntax):
		return newFault(j.b.file, line, "", syntax.Error(), "json")
	case errors.Is(err, errLong):
		return newFault(j.b.file, line, "", "", "long_line")
	case errors.Is(err, errShape):
		return newFault(j.b.file, line, "", "", "json_shape")
	}
	return fmt.Errorf("%s: %w", j.b.file, err)
}

// linesToValue counts the line ends between the last token and the value that
// could not be read.
func (j *objects) linesToValue() int {
	rest, _ := io.ReadAll(j.dec.Buffered()) // it lies in memory
	space := len(rest) - len(bytes.TrimLeft(rest, " \t\r\n,"))
	return bytes.Count(rest[:space], []byte("\n"))
}

// object reads one object into a row.
func (j *objects) object(raw []byte, line int) bool {
	if code, value := damage(string(raw), nil); code != "" {
		return j.b.torn(newFault(j.b.file, line, "", value, code), "", false)
	}
	if raw[0] != '{' {
		return j.b.torn(newFault(j.b.file, line, "", string(raw), "json_object"), "", false)
	}
	r := row{line: line}
	for i := range r.cells {
		r.cells[i] = cell{head: j.heads.list[i].name, line: line}
	}
	if f := j.members(raw, &r); f != nil {
		return j.b.torn(f, r.cells[cTag].text, r.cells[cTag].text != "")
	}
	return j.b.add(&r)
}

// members reads the members of an object; its JSON is known to be sound.
func (j *objects) members(raw []byte, r *row) *Fault {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.UseNumber()
	dec.Token()
	var first *Fault
	seen := [numColumns]bool{}
	for dec.More() {
		key, _ := dec.Token()
		var value any
		if err := dec.Decode(&value); err != nil {
			return newFault(j.b.file, r.line, fmt.Sprint(key), err.Error(), "json")
		}
		p, ok := j.find(key.(string))
		if !ok {
			if f := j.unknownKey(key.(string), r.line); f != nil && !j.b.out(Row{}, f) {
				return f
			}
			continue
		}
		f := j.member(&r.cells[p.col], key.(string), p, value)
		if f == nil && seen[p.col] {
			f = newFault(j.b.file, r.line, key.(string), r.cells[p.col].text, "column_twice", "other", j.heads.list[p.col].name)
		}
		if seen[p.col] = true; first == nil {
			first = f
		}
	}
	return first
}

// member puts a value into its cell.
func (j *objects) member(c *cell, key string, p place, value any) *Fault {
	between := "; "
	if p.col == cLastTreated {
		between = " | "
	}
	text, ok := j.text(value, between)
	if code, part := damage(text, nil); code != "" {
		return newFault(j.b.file, c.line, key, part, code)
	}
	*c = cell{strings.TrimSpace(text), p.unit, key, c.line}
	if !ok {
		return newFault(j.b.file, c.line, key, fmt.Sprint(value), "json_value")
	}
	return nil
}

// text writes a value as a cell has it.
func (j *objects) text(value any, between string) (string, bool) {
	switch v := value.(type) {
	case nil:
		return "", true
	case string:
		return v, true
	case bool:
		if v {
			return "yes", true
		}
		return "no", true
	case json.Number:
		if j.b.scale.comma {
			return strings.ReplaceAll(v.String(), ".", ","), true
		}
		return v.String(), true
	case []any:
		parts := make([]string, len(v))
		for i := range v {
			var ok bool
			if _, nested := v[i].([]any); nested {
				return "", false
			}
			if parts[i], ok = j.text(v[i], between); !ok {
				return "", false
			}
		}
		return strings.Join(parts, between), true
	}
	return "", false
}

// find returns where a key leads to.
func (j *objects) find(key string) (place, bool) {
	if p, ok := j.places[key]; ok {
		return p, true
	}
	p, ok := j.heads.find(key)
	if ok && len(j.places) < 1000 {
		j.places[key] = p
	}
	return p, ok
}

// unknownKey complains of a key once, and of a hundred keys at most.
func (j *objects) unknownKey(key string, line int) *Fault {
	if j.unknown[key] || len(j.unknown) >= 100 || strings.HasPrefix(plain(key), "x_") {
		return nil
	}
	j.unknown[key] = true
	return newFault(j.b.file, line, key, key, "unknown_column", "near", j.heads.nearest(key))
}

// counted counts the lines of what is read, and reads no more at once than it
// is allowed: a decoder would otherwise hold a value of any size.
type counted struct {
	r    io.Reader
	left int     // bytes that may still be read before the next value
	read int64   // bytes read
	ends []int64 // places of line ends read and not yet passed
	line int     // line of the place last asked for
}

func (c *counted) Read(p []byte) (int, error) {
	if c.left <= 0 {
		return 0, errLong
	}
	n, err := c.r.Read(p[:min(len(p), c.left)])
	for i, b := range p[:n] {
		if b == '\n' {
			c.ends = append(c.ends, c.read+int64(i))
		}
	}
	c.read += int64(n)
	c.left -= n
	return n, err
}

// lineAt returns the line of a place at or after the one last asked for.
func (c *counted) lineAt(offset int64) int {
	n := 0
	for n < len(c.ends) && c.ends[n] < offset {
		n++
	}
	c.line += n
	c.ends = c.ends[n:]
	return c.line
}

package labelfile

import (
	"bytes"
	"errors"
	"io"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v3"

	"sapwell/engine/why"
)

// parse reads the bytes to the top mapping of the only document, or reports why
// not and returns nil.
func (d *decoder) parse(r io.Reader) *yaml.Node {
	raw, err := io.ReadAll(io.LimitReader(r, MaxSize+1))
	switch {
	case err != nil:
		d.fault(spot{}, "label.unreadable", "", why.T("detail", err.Error()))
		return nil
	case len(raw) > MaxSize:
		d.fault(spot{}, "label.too_large", "", why.T("accepted", MaxSize))
		return nil
	}
	if bad := notText(raw); bad >= 0 {
		d.fault(spotOf(raw, bad), "label.encoding", "")
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(raw))
	var doc yaml.Node
	err = dec.Decode(&doc)
	if errors.Is(err, io.EOF) {
		d.fault(spot{1, 1}, "label.empty_file", "")
		return nil
	}
	var next yaml.Node
	if err == nil {
		err = dec.Decode(&next)
	}
	switch {
	case err == nil:
		d.fault(at(&next), "label.documents", "")
		return nil
	case !errors.Is(err, io.EOF):
		d.syntax(raw, err)
		return nil
	}
	return doc.Content[0]
}

// notText finds the first byte that is not UTF-8 or a character that YAML 1.2.2
// (5.1) does not allow; -1: all is text.
func notText(raw []byte) int {
	for i := 0; i < len(raw); {
		r, size := utf8.DecodeRune(raw[i:])
		control := r < ' ' && r != '\t' && r != '\n' && r != '\r' || r >= 0x7f && r < 0xa0 && r != 0x85
		if control || r == utf8.RuneError && size == 1 || r == 0xfffe || r == 0xffff {
			return i
		}
		i += size
	}
	return -1
}

// spotOf counts lines and columns up to a byte.
func spotOf(raw []byte, i int) spot {
	start := bytes.LastIndexByte(raw[:i], '\n') + 1
	return spot{1 + bytes.Count(raw[:i], []byte("\n")), 1 + utf8.RuneCount(raw[start:i])}
}

// The parser tells its trouble only in English. So the place is read from its
// text and the line itself is shown, not the text.
var (
	lineIn   = regexp.MustCompile(`line (\d+)`)
	anchorIn = regexp.MustCompile(`unknown anchor '(.+)' referenced`)
)

func (d *decoder) syntax(raw []byte, err error) {
	if m := anchorIn.FindStringSubmatch(err.Error()); m != nil {
		d.fault(spotOf(raw, max(bytes.Index(raw, []byte("*"+m[1])), 0)), "label.alias", "")
		return
	}
	lines := strings.Split(string(raw), "\n")
	n := lineOf(err.Error(), len(lines))
	// The parser stops a line before or after the tab that confused it.
	for i := max(n-2, 0); i < min(n+1, len(lines)); i++ {
		indent := lines[i][:len(lines[i])-len(strings.TrimLeft(lines[i], " \t"))]
		if tab := strings.IndexByte(indent, '\t'); tab >= 0 {
			d.fault(spot{i + 1, tab + 1}, "label.tab", "")
			return
		}
	}
	d.fault(spot{n, 1}, "label.syntax", "", why.T("value", short(strings.TrimSpace(lines[n-1]))))
}

// lineOf reads the line from the parser's text. What it "did not find expected"
// it counts from 0, everything else from 1; line 0 it does not print.
func lineOf(text string, lines int) int {
	n := 0
	if m := lineIn.FindStringSubmatch(text); m != nil {
		n, _ = strconv.Atoi(m[1])
	}
	if strings.Contains(text, "did not find expected") {
		n++
	}
	return min(max(n, 1), lines)
}

// short cuts a value so that a fault stays one line.
func short(s string) string {
	const most = 60
	s = strings.ReplaceAll(s, "\n", " ")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most]) + "…"
}

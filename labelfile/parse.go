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
		d.fault(spot{}, "unreadable", "", why.T("detail", err.Error()))
		return nil
	case len(raw) > MaxSize:
		d.fault(spot{}, "too_large", "", why.T("accepted", MaxSize))
		return nil
	case !utf8.Valid(raw):
		d.fault(notUTF8(raw), "encoding", "")
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(raw))
	var doc yaml.Node
	err = dec.Decode(&doc)
	if errors.Is(err, io.EOF) {
		d.fault(spot{1, 1}, "empty_file", "")
		return nil
	}
	var next yaml.Node
	if err == nil {
		err = dec.Decode(&next)
	}
	switch {
	case err == nil:
		d.fault(at(&next), "documents", "")
		return nil
	case !errors.Is(err, io.EOF):
		d.syntax(raw, err)
		return nil
	}
	return doc.Content[0]
}

// notUTF8 finds the first byte that is not UTF-8.
func notUTF8(raw []byte) spot {
	valid := 0
	for rest := raw; len(rest) > 0; {
		r, size := utf8.DecodeRune(rest)
		if r == utf8.RuneError && size == 1 {
			break
		}
		valid += size
		rest = rest[size:]
	}
	start := bytes.LastIndexByte(raw[:valid], '\n') + 1
	return spot{1 + bytes.Count(raw[:valid], []byte("\n")), 1 + utf8.RuneCount(raw[start:valid])}
}

// The parser names the line only in its text, and its text is English; so the
// line number is taken from it and the line itself is shown.
var lineIn = regexp.MustCompile(`line (\d+)`)

func (d *decoder) syntax(raw []byte, err error) {
	lines := strings.Split(string(raw), "\n")
	n := 1
	if m := lineIn.FindStringSubmatch(err.Error()); m != nil {
		n, _ = strconv.Atoi(m[1])
	}
	n = min(max(n, 1), len(lines))
	// The parser stops a line before or after the tab that confused it.
	for i := max(n-2, 0); i < min(n+1, len(lines)); i++ {
		indent := lines[i][:len(lines[i])-len(strings.TrimLeft(lines[i], " \t"))]
		if tab := strings.IndexByte(indent, '\t'); tab >= 0 {
			d.fault(spot{i + 1, tab + 1}, "tab", "")
			return
		}
	}
	d.fault(spot{n, 1}, "syntax", "", why.T("value", short(strings.TrimSpace(lines[n-1]))))
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

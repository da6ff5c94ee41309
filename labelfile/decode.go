package labelfile

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"sapwell/engine/why"
)

// spot is a line and column, counted from 1.
type spot struct{ line, column int }

func at(n *yaml.Node) spot { return spot{n.Line, n.Column} }

// decoder walks the YAML and the Go value side by side and keeps every fault.
type decoder struct {
	file        string
	faults      []Fault
	spots       map[string]spot // path to where it stands: its key, or its value for list items and scalars
	otherFormat bool            // written for another format: nothing else is worth saying
}

func (d *decoder) report(s spot, f why.Finding) {
	d.faults = append(d.faults, Fault{d.file, s.line, s.column, f})
}

// fault reports what the file itself does wrong, which always blocks.
func (d *decoder) fault(s spot, code, place string, terms ...why.Term) {
	d.report(s, why.Finding{Code: code, Severity: why.Block, Place: place, Terms: terms, Source: why.Own})
}

// decode fills the document, unless it is written for another format.
func (d *decoder) decode(root *yaml.Node, doc *document) {
	d.spots[""] = at(root)
	if other := formatOf(root); other != nil && other.Value != Format {
		d.otherFormat = true
		d.fault(at(other), "label.format", "format", why.T("value", short(other.Value)), why.T("accepted", Format))
		return
	}
	d.value(root, "", reflect.ValueOf(doc).Elem())
}

// formatOf finds the value of the key "format".
func formatOf(root *yaml.Node) *yaml.Node {
	if root.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i < len(root.Content); i += 2 {
		if root.Content[i].Value == "format" {
			return root.Content[i+1]
		}
	}
	return nil
}

// value reads one node into v, which is zero.
func (d *decoder) value(n *yaml.Node, path string, v reflect.Value) {
	read, isScalar := scalars[v.Type()]
	switch {
	case n.Kind == yaml.AliasNode || n.Anchor != "" || n.Style&yaml.TaggedStyle != 0:
		d.fault(at(n), "label.alias", path)
	case n.Kind == yaml.ScalarNode && n.ShortTag() == "!!null":
		d.fault(at(n), "label.empty", path)
	case isScalar:
		d.scalar(n, path, v, read)
	case v.Kind() == reflect.Pointer:
		elem := reflect.New(v.Type().Elem())
		d.value(n, path, elem.Elem())
		v.Set(elem)
	case v.Kind() == reflect.Slice:
		d.list(n, path, v)
	default:
		d.mapping(n, path, v)
	}
}

// scalar reads one word or measure.
func (d *decoder) scalar(n *yaml.Node, path string, v reflect.Value, read scalar) {
	d.spots[path] = at(n)
	if n.Kind != yaml.ScalarNode {
		d.fault(at(n), "label.want_value", path, why.T("accepted", read.accepted))
		return
	}
	if read.tag != "" && n.ShortTag() != read.tag {
		d.fault(at(n), read.code, path, why.T("value", short(n.Value)), why.T("accepted", read.accepted))
		return
	}
	written := strings.TrimSpace(n.Value)
	if written == "" {
		d.fault(at(n), "label.empty", path)
		return
	}
	got, err := read.parse(written)
	if err != nil {
		d.fault(at(n), read.code, path, why.T("value", short(n.Value)), why.T("accepted", read.accepted))
		return
	}
	v.Set(got.Convert(v.Type()))
}

// list reads a sequence.
func (d *decoder) list(n *yaml.Node, path string, v reflect.Value) {
	if n.Kind != yaml.SequenceNode {
		d.fault(at(n), "label.want_list", path, why.T("value", short(n.Value)))
		return
	}
	v.Set(reflect.MakeSlice(v.Type(), len(n.Content), len(n.Content)))
	for i, item := range n.Content {
		p := path + "[" + strconv.Itoa(i) + "]"
		d.spots[p] = at(item)
		d.value(item, p, v.Index(i))
	}
}

// mapping reads keys into the fields of a struct.
func (d *decoder) mapping(n *yaml.Node, path string, v reflect.Value) {
	known := fields(v.Type())
	accepted := keys(known)
	if n.Kind != yaml.MappingNode {
		d.fault(at(n), "label.want_keys", path, why.T("value", short(n.Value)), why.T("accepted", accepted))
		return
	}
	seen := map[string]int{}
	for i := 0; i < len(n.Content); i += 2 {
		key := n.Content[i]
		p := below(path, key.Value)
		which := slices.IndexFunc(known, func(f field) bool { return f.key == key.Value })
		if key.Kind != yaml.ScalarNode || which < 0 {
			d.fault(at(key), "label.unknown_key", p, why.T("value", short(key.Value)), why.T("accepted", accepted))
			continue
		}
		if first, twice := seen[key.Value]; twice {
			d.fault(at(key), "label.duplicate_key", p, why.T("value", key.Value), why.T("line", first))
			continue
		}
		seen[key.Value] = key.Line
		d.spots[p] = at(key)
		d.field(known[which], n.Content[i+1], p, v)
	}
	for _, f := range known {
		if _, stated := seen[f.key]; f.required && !stated {
			d.fault(d.nearest(path), "label.missing", below(path, f.key))
		}
	}
}

// field reads the value of a key.
func (d *decoder) field(f field, value *yaml.Node, path string, v reflect.Value) {
	before := len(d.faults)
	target := v.FieldByIndex(f.index)
	d.value(value, path, target)
	if len(d.faults) == before && f.zeroIsSilence && target.IsZero() {
		d.fault(at(value), "label.zero", path, why.T("value", short(value.Value)))
	}
}

func below(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// Package calc answers: what does this JSON ask, and what is the JSON answer?
//
// Every computation of the engine behind one door: the command line, the server
// and the phone call Run with the same names and shapes. It decodes, calls and
// encodes; it computes nothing itself.
package calc

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"
)

// computation is one name behind the door.
type computation struct {
	name  string
	help  string
	in    reflect.Type
	out   reflect.Type
	loose bool // fields it does not know are passed over: result keys of a case file
	run   func(in any) (any, error)
}

// door makes a computation of a function from I to O.
func door[I, O any](name, help string, f func(I) (O, error)) computation {
	return computation{
		name: name, help: help, in: reflect.TypeFor[I](), out: reflect.TypeFor[O](),
		run: func(in any) (any, error) { return f(*in.(*I)) },
	}
}

func (c computation) passingOver() computation { c.loose = true; return c }

// Names lists the computations, each with one line of help.
func Names() [][2]string {
	var list [][2]string
	for _, c := range doors() {
		list = append(list, [2]string{c.name, c.help})
	}
	return list
}

// Has reports whether a computation has this name.
func Has(name string) bool { _, err := find(name); return err == nil }

func find(name string) (computation, error) {
	all := doors()
	i := slices.IndexFunc(all, func(c computation) bool { return c.name == name })
	if i < 0 {
		var have []string
		for _, c := range all {
			have = append(have, c.name)
		}
		return computation{}, fmt.Errorf("no computation is called %q; there are %s", name, strings.Join(have, ", "))
	}
	return all[i], nil
}

// Run answers one object, or a list of objects, in kind. Any fault in the input
// answers nothing but the error, which names the element and the field.
func Run(name string, input []byte) ([]byte, error) {
	c, err := find(name)
	if err != nil {
		return nil, err
	}
	input = bytes.Trim(input, " \t\r\n")
	if err := wellFormed(input); err != nil {
		return nil, err
	}
	if input[0] != '[' {
		return c.answer("", input)
	}
	var items []json.RawMessage
	if err := json.Unmarshal(input, &items); err != nil {
		return nil, err
	}
	answers := make([]json.RawMessage, len(items))
	for i, item := range items {
		if answers[i], err = c.answer(fmt.Sprintf("[%d]", i), item); err != nil {
			return nil, err
		}
	}
	return json.Marshal(answers)
}

func (c computation) answer(path string, item json.RawMessage) (json.RawMessage, error) {
	in := reflect.New(c.in)
	if err := decode(path, item, in.Interface(), c.loose); err != nil {
		return nil, err
	}
	out, err := c.run(in.Interface())
	if field, ok := errors.AsType[*FieldError](err); ok {
		field.Path = join(path, field.Path)
		return nil, field
	}
	if err != nil {
		return nil, &FieldError{Path: path, Want: err.Error()}
	}
	return json.Marshal(out)
}

// wellFormed says where the input stops being one JSON value. encoding/json
// would pass over bytes that are not UTF-8, and a tag is not to be changed.
func wellFormed(input []byte) error {
	if len(input) == 0 {
		return &FieldError{Want: "nothing was given; want one JSON object or a list of them"}
	}
	if !utf8.Valid(input) {
		return &FieldError{Want: "not UTF-8; want JSON saved as UTF-8"}
	}
	var whole json.RawMessage
	err := json.Unmarshal(input, &whole)
	if at, ok := errors.AsType[*json.SyntaxError](err); ok {
		before := input[:at.Offset]
		line, column := 1+bytes.Count(before, []byte("\n")), len(before)-1-bytes.LastIndexByte(before, '\n')
		return &FieldError{Want: fmt.Sprintf("not JSON at line %d, byte %d of it: %v", line, column, err)}
	}
	return err
}

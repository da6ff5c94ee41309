package main

import (
	"errors"
	"io"
	"strings"

	"sapwell/calc"
	"sapwell/labelfile"
	"sapwell/treelist"
)

// mostInput is the most JSON that calc reads: 64 MiB holds some 100,000 objects.
const mostInput = 64 << 20

type calcCmd struct {
	Name string `arg:"" help:"What to compute; 'sapwell calc list' lists them."`
}

// Run answers what stands on stdin.
func (c calcCmd) Run(w world) error {
	if c.Name == "list" {
		return c.list(w)
	}
	if !calc.Has(c.Name) {
		return usage{errors.New("calc: nothing is called \"" + c.Name + "\"; there are " + strings.Join(names(), ", "))}
	}
	in, err := io.ReadAll(io.LimitReader(w.stdin, mostInput+1))
	if err != nil {
		return err
	}
	if len(in) > mostInput {
		return refused{errors.New("calc " + c.Name + ": more than 64 MiB on stdin; send it in parts")}
	}
	out, err := calc.Run(c.Name, in)
	if err != nil {
		return refused{errors.New("calc " + c.Name + ": " + err.Error())}
	}
	_, err = w.stdout.Write(append(out, '\n'))
	return err
}

func (calcCmd) list(w world) error {
	for _, n := range calc.Names() {
		if _, err := io.WriteString(w.stdout, pad(n[0], 10)+n[1]+"\n"); err != nil {
			return err
		}
	}
	return nil
}

func names() []string {
	var list []string
	for _, n := range calc.Names() {
		list = append(list, n[0])
	}
	return list
}

type schemaCmd struct {
	Name string `arg:"" help:"label, trees, or the name of a computation."`
}

// Run prints a schema.
func (c schemaCmd) Run(w world) error {
	var schema []byte
	switch {
	case c.Name == "label":
		schema = labelfile.Schema()
	case c.Name == "trees":
		schema = treelist.Schema()
	case calc.Has(c.Name):
		schema = calc.Schema(c.Name)
	default:
		return usage{errors.New("schema: nothing is called \"" + c.Name + "\"; there are label, trees, " + strings.Join(names(), ", "))}
	}
	_, err := w.stdout.Write(append([]byte(strings.TrimSpace(string(schema))), '\n'))
	return err
}

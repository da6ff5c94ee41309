package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"

	"sapwell/engine/label"
	"sapwell/engine/why"
	"sapwell/labelfile"
)

type labelCmd struct {
	Check labelCheckCmd `cmd:"" help:"List every fault of label files, with line and remedy."`
}

type labelCheckCmd struct {
	Files []string `arg:"" help:"Label files (YAML)."`
}

// Run reports on stdout: the faults are the result.
func (c labelCheckCmd) Run(w world) error {
	blocked := false
	for _, name := range c.Files {
		l, faults, err := readLabel(name)
		if err != nil {
			return err
		}
		for _, f := range faults {
			w.printFault(w.stdout, f)
		}
		if len(faults) == 0 {
			fmt.Fprintf(w.stdout, "%s: %s\n", name, w.say.Say("label.no_faults", why.T("label", l.ID)))
		}
		blocked = blocked || blocks(faults)
	}
	if blocked {
		return refused{errors.New(w.say.Say("label.plans_nothing"))}
	}
	return nil
}

// readLabel reads one label file; the error is of the file, the faults are of
// what it says.
func readLabel(name string) (label.Label, []labelfile.Fault, error) {
	f, err := os.Open(name)
	if err != nil {
		return label.Label{}, nil, err
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, labelfile.MaxSize+1))
	if err != nil {
		return label.Label{}, nil, err
	}
	l, faults := labelfile.Read(name, bytes.NewReader(text))
	return l, faults, nil
}

// readLabels reads the labels of a plan. A label with a fault that blocks plans
// nothing, and neither do the others: the day was meant to have them all.
func (w world) readLabels(files []string) ([]label.Label, error) {
	var labels []label.Label
	bad := 0
	for _, name := range files {
		l, faults, err := readLabel(name)
		if err != nil {
			return nil, err
		}
		for _, f := range faults {
			w.printFault(w.stderr, f)
		}
		if blocks(faults) {
			bad++
		}
		labels = append(labels, l)
	}
	if bad > 0 {
		return nil, refused{errors.New(w.say.Say("label.plans_nothing"))}
	}
	return labels, w.twice(labels)
}

// twice refuses two labels of one ID: a tree could not say which it means.
func (w world) twice(labels []label.Label) error {
	seen := map[string]bool{}
	for _, l := range labels {
		if seen[l.ID] {
			return refused{errors.New(w.say.Say("plan.label_twice", why.T("label", l.ID)))}
		}
		seen[l.ID] = true
	}
	return nil
}

func blocks(faults []labelfile.Fault) bool {
	for _, f := range faults {
		if f.Severity == why.Block {
			return true
		}
	}
	return false
}

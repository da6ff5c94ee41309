package actions

import (
	"fmt"
	"slices"
	"strings"

	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/labelfile"
	"sapwell/views"
)

type labelAdd struct {
	File string `json:"file" doc:"the label file (YAML), whole"`
}

type labelAdded struct {
	ID      journal.ID    `json:"id"`
	Name    string        `json:"name"`
	Version quantity.Date `json:"version"`
	Known   bool          `json:"known,omitempty"` // the very same text was there already
}

// addLabel keeps one version of a label with its text. A faulty file is refused:
// it could plan nothing. So is another text under a name and version that were
// used: what was planned by a version has to stay what it was.
func addLabel(d *desk, in labelAdd) (labelAdded, error) {
	l, faults := labelfile.Read("file", strings.NewReader(in.File))
	for _, f := range faults {
		if f.Severity == why.Block {
			return labelAdded{}, faultyLabel(f, len(faults))
		}
		d.note(f.Finding)
	}
	versions, err := d.labelsNamed(l.ID)
	if err != nil {
		return labelAdded{}, err
	}
	i := slices.IndexFunc(versions, func(v *views.Label) bool { return v.Facts.Version.Equal(l.Version.Time) })
	if i >= 0 {
		return sameLabel(versions[i], in.File)
	}
	id, err := d.write(entries.Label{
		Head: d.now(), Name: l.ID, Version: l.Version, Product: l.Product.Name, RegNo: l.Product.RegNo,
		Fictional: l.Fictional, File: in.File,
	})
	return labelAdded{ID: id, Name: l.ID, Version: l.Version}, err
}

// sameLabel answers for a version that is there: with the same text nothing has
// to be written.
func sameLabel(v *views.Label, file string) (labelAdded, error) {
	if v.Facts.File != file {
		return labelAdded{}, refuse(Conflict, "label.version_used", "file",
			fmt.Sprintf("file: label %s of %s is here with another text; a new text wants a new version", v.Facts.Name, v.Facts.Version),
			why.T("label", v.Facts.Name), why.T("label_version", v.Facts.Version))
	}
	id, err := idOf(v.ID)
	return labelAdded{ID: id, Name: v.Facts.Name, Version: v.Facts.Version, Known: true}, err
}

// faultyLabel refuses a label for one of its faults.
func faultyLabel(f labelfile.Fault, n int) *Refusal {
	facts := termList(f.Terms)
	text := fmt.Sprintf("file: line %d: %s: %s", f.Line, f.Place, f.Code)
	if facts != "" {
		text += " (" + facts + ")"
	}
	if n > 1 {
		text += fmt.Sprintf("; %d faults in all", n)
	}
	terms := []why.Term{why.T("finding", f.Code), why.T("line", f.Line)}
	return refuse(BadInput, "label.faulty", "file", text, append(terms, f.Terms...)...)
}

// labelsNamed lists the versions of a label, the oldest first.
func (d *desk) labelsNamed(name string) (versions []*views.Label, err error) {
	err = each(d, entries.OfLabel, name+"|", name+"|~", func(l *views.Label) error {
		versions = append(versions, l)
		return nil
	})
	return versions, err
}

// labelOf is the label as the engine wants it. It was sound when it was written;
// a later program may see a fault that this one did not.
func (d *desk) labelOf(v *views.Label) (label.Label, error) {
	if l, ok := d.Labels[v.Facts.File]; ok {
		return l, nil
	}
	l, faults := labelfile.Read("file", strings.NewReader(v.Facts.File))
	for _, f := range faults {
		if f.Severity == why.Block {
			return l, faultyLabel(f, len(faults))
		}
	}
	if d.Labels == nil {
		d.Labels = map[string]label.Label{}
	}
	d.Labels[v.Facts.File] = l
	return l, nil
}

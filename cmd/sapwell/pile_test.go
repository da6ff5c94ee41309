package main

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sapwell/internal/outside"
)

// No paper claims what only a court or an agency can say.
var claims = regexp.MustCompile(`(?i)\b(legal|compliant|approved|conforme a la ley|aprobado|legalmente)\b`)

// denials are the sentences that may use such a word: they say what is not claimed.
var denials = regexp.MustCompile(`(?i)(not|no)\s+(is\s+|es\s+|da\s+|un\s+)*(legal|consejo|asesoramiento|dictamen)\w*(\s+(legal|jur[ií]dico)\w*)?(\s+(advice|status|opinion))?`)

// From the demo's closed visits one command writes the whole pile, in both languages
// and on both papers; every PDF is sound and can be read by another program.
func TestPapersOfTheDemo(t *testing.T) {
	pdftotext, qpdf := outside.Tool(t, "pdftotext"), outside.Tool(t, "qpdf")
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if s := call(t, nil, "demo", "--no-serve", "--out", in("day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	for _, how := range [][2]string{{"en", "letter"}, {"es", "a4"}} {
		out := in(how[0])
		s := call(t, nil, "--lang", how[0], "papers", "--data", in("day/data"), "--out", out, "--prices", in("day/prices.json"), "--all", "--paper", how[1])
		if s.code != exitDone {
			t.Fatalf("%v: %d %s", how, s.code, s.errors)
		}
		papers := 0
		err := filepath.WalkDir(out, func(name string, e fs.DirEntry, err error) error {
			if err != nil || filepath.Ext(name) != ".pdf" {
				return err
			}
			papers++
			if said, err := exec.Command(qpdf, "--check", name).CombinedOutput(); err != nil {
				t.Errorf("%s: %v: %s", name, err, said)
			}
			text, err := exec.Command(pdftotext, "-layout", name, "-").Output()
			if err != nil || len(strings.TrimSpace(string(text))) < 100 {
				t.Errorf("%s: %v: %q", name, err, text)
			}
			plain := denials.ReplaceAllString(strings.Join(strings.Fields(string(text)), " "), "")
			if claim := claims.FindString(plain); claim != "" {
				t.Errorf("%s says %q", name, claim)
			}
			return nil
		})
		if err != nil || papers < 14 {
			t.Errorf("%v: %d papers, %v", how, papers, err)
		}
	}
	outside.Ran(t, "qpdf and pdftotext", "every paper of the demo's pile is sound and claims nothing")
}

func TestPapersRefuse(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if s := call(t, nil, "demo", "--no-serve", "--out", in("day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	bad := in("bad.json")
	for _, c := range []struct {
		code         int
		says, prices string
		args         []string
	}{
		{exitUsage, "--out: missing", "", nil},
		{exitFailed, "no such file", "", []string{"--out", in("x"), "--prices", in("none.json")}},
		{exitRefused, "bad.json: currency", `{"currency":"dollars"}`, []string{"--out", in("x"), "--prices", bad}},
		{exitRefused, "bad.json: colour: 7: not a field here", `{"currency":"USD","colour":7}`, []string{"--out", in("x"), "--prices", bad}},
	} {
		if err := os.WriteFile(bad, []byte(c.prices), 0o600); err != nil {
			t.Fatal(err)
		}
		s := call(t, nil, append([]string{"papers", "--data", in("day/data")}, c.args...)...)
		if s.code != c.code || !strings.Contains(s.errors, c.says) {
			t.Errorf("%v: %d %s", c.args, s.code, s.errors)
		}
		if _, err := os.Stat(in("x")); err == nil {
			t.Fatalf("%v left a folder behind", c.args)
		}
	}
}

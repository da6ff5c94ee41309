package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/dossier"
	"sapwell/internal/outside"
	"sapwell/records"
)

// inspected is the folder of the demo's closed visits.
func inspected(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	folder := filepath.Join(dir, "folder")
	for _, args := range [][]string{
		{"demo", "--no-serve", "--out", filepath.Join(dir, "day")},
		{"inspect", "--data", filepath.Join(dir, "day/data"), "--out", folder},
	} {
		if s := call(t, nil, args...); s.code != exitDone {
			t.Fatalf("%v: %d %s", args, s.code, s.errors)
		}
	}
	return folder
}

func TestInspect(t *testing.T) {
	folder := inspected(t)
	if s := call(t, nil, "inspect", "--check", folder); s.code != exitDone || !strings.HasPrefix(s.out, "Sound: ") {
		t.Fatalf("%d %s%s", s.code, s.out, s.errors)
	}
	found, err := filepath.Glob(filepath.Join(folder, "records/*.json"))
	if err != nil || len(found) != 2 {
		t.Fatalf("records: %v, %v", found, err)
	}
	for _, name := range found {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		r, err := records.Parse(data)
		if err != nil || !r.Has("product.reg_no") || !r.Has("signature.by") {
			t.Errorf("%s: %v\n%s", name, err, data)
		}
	}
	page, err := os.ReadFile(filepath.Join(folder, "index.html"))
	if err != nil || !strings.Contains(string(page), "INVENTED-0001") {
		t.Errorf("the page: %v", err)
	}
	for _, word := range []string{"http://", "https://", "compliant", "approved"} {
		text, _, _ := strings.Cut(string(page), "<script>")
		if strings.Contains(text, word) {
			t.Errorf("the page says %q", word)
		}
	}

	// A change, a file less and one more are named.
	for name, spoil := range map[string]func(string) error{
		"records/": func(string) error { return os.WriteFile(found[0], []byte("{}"), 0o600) },
		"people.csv": func(string) error {
			return os.Remove(filepath.Join(folder, "people.csv"))
		},
		"extra.txt": func(string) error { return os.WriteFile(filepath.Join(folder, "extra.txt"), nil, 0o600) },
	} {
		if err := spoil(folder); err != nil {
			t.Fatal(err)
		}
		if s := call(t, nil, "inspect", "--check", folder); s.code != exitRefused || !strings.Contains(s.errors, name) {
			t.Errorf("%s: %d %s", name, s.code, s.errors)
		}
	}
}

func TestInspectRefuses(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if s := call(t, nil, "demo", "--no-serve", "--out", in("day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	for _, c := range []struct {
		code int
		says string
		args []string
	}{
		{exitUsage, "--out: missing", nil},
		{exitUsage, "--out: " + dir, []string{"--out", dir}},
		{exitUsage, "--from: ", []string{"--out", in("x"), "--from", "June"}},
		{exitUsage, "--to: 2026-01-01 lies before", []string{"--out", in("x"), "--from", "2026-02-01", "--to", "2026-01-01"}},
		{exitRefused, "No visit was closed", []string{"--out", in("x"), "--to", "2020-01-01"}},
	} {
		s := call(t, nil, append([]string{"inspect", "--data", in("day/data")}, c.args...)...)
		if s.code != c.code || !strings.Contains(s.errors, c.says) {
			t.Errorf("%v: %d %s", c.args, s.code, s.errors)
		}
	}
	left, err := filepath.Glob(in(".x*"))
	if _, there := os.Stat(in("x")); err != nil || len(left) > 0 || there == nil {
		t.Errorf("what was refused left %v behind", left)
	}
}

// The manifest's sums are those of another program.
func TestInspectBySha256sum(t *testing.T) {
	tool := outside.Tool(t, "sha256sum")
	folder := inspected(t)
	data, err := os.ReadFile(filepath.Join(folder, dossier.Name))
	if err != nil {
		t.Fatal(err)
	}
	var m dossier.Manifest
	if err := json.Unmarshal(data, &m); err != nil {
		t.Fatal(err)
	}
	var list strings.Builder
	for _, f := range m.Files {
		list.WriteString(f.SHA256.String() + "  " + f.Path + "\n")
	}
	sums := exec.Command(tool, "--check", "--strict", "-")
	sums.Dir, sums.Stdin = folder, strings.NewReader(list.String())
	if out, err := sums.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, out)
	}
	outside.Ran(t, "sha256sum", "files of an inspector's folder against its manifest")
}

// The page names the profiles in its reader's language, and on a phone each fact of a
// record has its heading beside it.
func TestThePageSpeaksTheReadersLanguage(t *testing.T) {
	dir := t.TempDir()
	if s := call(t, nil, "demo", "--no-serve", "--out", filepath.Join(dir, "day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	for lang, want := range map[string][]string{
		"en": {"<li>United States, federal: restricted-use products (us-fed-rup;", `data-head="Missing or late"`},
		"es": {"<li>Estados Unidos, federal: productos de uso restringido (us-fed-rup;", `data-head="Falta o va tarde"`},
	} {
		folder := filepath.Join(dir, lang)
		if s := call(t, nil, "--lang", lang, "inspect", "--data", filepath.Join(dir, "day/data"), "--out", folder); s.code != exitDone {
			t.Fatal(s.errors)
		}
		page, err := os.ReadFile(filepath.Join(folder, "index.html"))
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range want {
			if !strings.Contains(string(page), s) {
				t.Errorf("%s: the page has no %q", lang, s)
			}
		}
		if n, m := strings.Count(string(page), `role="columnheader"`), strings.Count(string(page), `role="cell"`); n != 9 || m != 2*n {
			t.Errorf("%d headings, %d cells of two records", n, m)
		}
	}
}

// What is wrong with a folder's name or place is said in one sentence.
func TestFolders(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	if s := call(t, nil, "demo", "--no-serve", "--out", in("day")); s.code != exitDone {
		t.Fatal(s.errors)
	}
	for _, c := range []struct {
		code int
		says string
		args []string
	}{
		{exitUsage, "is not there; make it first", []string{"papers", "--data", in("day/data"), "--out", in("none/x")}},
		{exitUsage, "is not there; make it first", []string{"inspect", "--data", in("day/data"), "--out", in("none/x")}},
		{exitRefused, "there is no manifest.json in it", []string{"inspect", "--check", in("day")}},
		{exitRefused, "there is no manifest.json in it", []string{"inspect", "--check", in("none")}},
		{exitUsage, "lies before --from", []string{"records", "check", "--data", in("day/data"), "--from", "2026-12-01", "--to", "2026-01-01"}},
		{exitUsage, "lies before --from", []string{"records", "due", "--data", in("day/data"), "--from", "2026-12-01", "--to", "2026-01-01"}},
	} {
		if s := call(t, nil, c.args...); s.code != c.code || !strings.Contains(s.errors, c.says) {
			t.Errorf("%v: %d %s, want %q", c.args, s.code, s.errors, c.says)
		}
	}
	s := call(t, nil, "papers", "--data", in("day/data"), "--out", in("later"), "--from", "2099-01-01")
	if s.code != exitDone || !strings.Contains(s.out, "No visit was closed in these days") || !strings.Contains(s.out, "      1  stock-ledger.pdf\n") {
		t.Errorf("%d %s", s.code, s.out)
	}
}

// Where the office's key is not there, what needs a signature is refused alike.
func TestWithoutTheKey(t *testing.T) {
	dir := t.TempDir()
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, args := range [][]string{
		{"demo", "--no-serve", "--out", in("day")}, {"journal", "export", "--data", in("day/data"), "--out", in("journal.ndjson")}, {"journal", "import", "--data", in("copy"), in("journal.ndjson")},
	} {
		if s := call(t, nil, args...); s.code != exitDone {
			t.Fatalf("%v: %d %s", args, s.code, s.errors)
		}
	}
	for _, args := range [][]string{
		{"inspect", "--data", in("copy"), "--out", in("folder")}, {"journal", "proof", "01a2147e-079a-747b-9d62-91a39cf4c22e", "--data", in("copy")},
	} {
		if s := call(t, nil, args...); s.code != exitRefused || !strings.Contains(s.errors, "has no signing key here") {
			t.Errorf("%v: %d %s", args, s.code, s.errors)
		}
	}
	if _, err := os.Stat(in("folder")); err == nil {
		t.Error("a folder was left behind")
	}
}

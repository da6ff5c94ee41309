package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sapwell/internal/outside"
)

// sheetsOf plans a list, writes its mark sheets and returns their text as poppler's
// pdftotext reads it.
func sheetsOf(t *testing.T, list string) string {
	t.Helper()
	pdftotext := outside.Tool(t, "pdftotext")
	dir := t.TempDir()
	trees, pdf := filepath.Join(dir, "trees.csv"), filepath.Join(dir, "sheets.pdf")
	if err := os.WriteFile(trees, []byte(list), 0o644); err != nil {
		t.Fatal(err)
	}
	var talk bytes.Buffer
	code := run([]string{"plan", trees, "-l", "demo/labels/demo-a.yaml", "--date", demoDay, "--certified", "yes",
		"--format", "pdf", "-o", pdf}, world{stdout: &talk, stderr: &talk, now: time.Now})
	if code != exitDone {
		t.Fatalf("exit %d: %s", code, talk.String())
	}
	text, err := exec.Command(pdftotext, "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

const twoStems = "tag,stem,species,girth,girth_height,pest,bloom_over,bark,canopy_loss,defects\n"

// A stop that was found on the second stem stops the tree: no page may show a
// mark of the first.
func TestAStopOnAnyStemIsOnTheSheet(t *testing.T) {
	text := sheetsOf(t, twoStems+
		"T-1,a,Fraxinus americana,30 in,12 in,AGRLPL,yes,1/2 in; 1/2 in,10,\n"+
		"T-1,b,Fraxinus americana,40 in,12 in,AGRLPL,yes,1/2 in; 1/2 in,10,0-38 in cavity\n")
	if !strings.Contains(text, "DO NOT TREAT") || strings.Contains(text, "Tape readings") || strings.Count(text, "\f") != 1 {
		t.Errorf("want one page without marks:\n%s", text)
	}
	if !strings.Contains(text, "Stem b: ") {
		t.Errorf("the page does not name the stem:\n%s", text)
	}
}

// What holds for one stem stands on its sheet alone.
func TestASheetSpeaksOfItsOwnStem(t *testing.T) {
	text := sheetsOf(t, twoStems+
		"T-1,a,Fraxinus americana,30 in,12 in,AGRLPL,yes,1/2 in; 1/2 in,10,\n"+
		"T-1,b,Fraxinus americana,40 in,12 in,AGRLPL,yes,1/4 in; 3/4 in,10,\n")
	pages := strings.Split(strings.TrimSuffix(text, "\f"), "\f")
	if len(pages) != 2 {
		t.Fatalf("%d pages:\n%s", len(pages), text)
	}
	if strings.Contains(pages[0], "Stem b") || !strings.Contains(pages[1], "Stem b: The bark is 1/4 in to 3/4 in thick") {
		t.Errorf("%s", text)
	}
}

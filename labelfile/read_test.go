package labelfile

import (
	"os"
	"path/filepath"
	"testing"
)

func TestDemoLabelsHaveNoFault(t *testing.T) {
	files, _ := filepath.Glob("../cmd/sapwell/demo/labels/*.yaml")
	if len(files) != 3 {
		t.Fatalf("labels = %v, want three", files)
	}
	for _, name := range append(files, "testdata/maywe.yaml") {
		f, err := os.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		l, faults := Read(filepath.Base(name), f)
		for _, fault := range faults {
			t.Errorf("%+v", fault)
		}
		t.Logf("%+v", l)
	}
}

package desk

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/internal/forest"
	"sapwell/internal/outside"
	"sapwell/pocket"
)

func ask(t *testing.T, name, input string) (ok json.RawMessage, problem *pocket.Problem) {
	t.Helper()
	var a struct {
		OK    json.RawMessage
		Error *pocket.Problem
	}
	if err := json.Unmarshal(New().Call(name, []byte(input)), &a); err != nil {
		t.Fatal(name, err)
	}
	return a.OK, a.Error
}

func checked[T any](t *testing.T, name string, input any) (out T) {
	t.Helper()
	text, err := json.Marshal(input)
	if err != nil {
		t.Fatal(err)
	}
	ok, problem := ask(t, name, string(text))
	if problem != nil {
		t.Fatal(name, *problem)
	}
	if err := json.Unmarshal(ok, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

// A list that is handed out in parts is the same list: no tree is lost, cut or
// named twice.
func TestListInParts(t *testing.T) {
	var csv strings.Builder
	if err := forest.Write(&csv, 1300, 7); err != nil {
		t.Fatal(err)
	}
	whole := checked[treesChecked](t, "trees", treesInput{CSV: csv.String(), Batches: true})
	if whole.All > 0 || whole.Trees != 1300 || len(whole.Batches) != 6 {
		t.Fatal(whole.Faults, whole.Trees, len(whole.Batches))
	}
	var tags []string
	stems := 0
	for _, part := range whole.Batches {
		one := checked[treesChecked](t, "trees", treesInput{CSV: part})
		if one.All > 0 || one.Trees > usualBatch {
			t.Fatal(one.Faults, one.Trees)
		}
		tags, stems = append(tags, one.Tags...), stems+one.Stems
	}
	if strings.Join(tags, " ") != strings.Join(whole.Tags, " ") || stems != whole.Stems {
		t.Error(len(tags), stems, whole.Stems)
	}
}

// What is wrong is told with its line, and nothing is handed out to be imported.
func TestListWithFaults(t *testing.T) {
	const csv = "nr,girth,girth_height,species\nQ-1,96,12 in,white ash\nQ-2,84 in,12 in,no such tree\n"
	none := checked[treesChecked](t, "trees", treesInput{CSV: csv})
	if none.Trees != 0 || none.All == 0 || none.Headings[0].Near == "" {
		t.Error("the list has no tags, and was read:", none.Trees, none.Faults)
	}
	got := checked[treesChecked](t, "trees", treesInput{CSV: csv, Headings: []string{"tag", "girth", "girth_height", "species"}, Batches: true})
	if got.All != 2 || got.Faults[0].Line != 2 || got.Faults[1].Line != 3 || len(got.Batches) > 0 || strings.Contains(got.Faults[0].Text, "⟨") {
		t.Error(got)
	}
}

func TestRefused(t *testing.T) {
	if _, p := ask(t, "calc", `{"name":"fly","input":{}}`); p == nil || p.Code != "pocket.no_calc" || strings.Contains(p.Text, "⟨") {
		t.Errorf("%+v", p)
	}
	_, p := ask(t, "calc", `{"name":"forecast","input":{"uptake":"fast","wings":2}}`)
	if p == nil || p.Code != "calc.input" || p.Field != "wings" || p.Text == "" || strings.Contains(p.Text, "⟨") {
		t.Errorf("%+v", p)
	}
}

// questions are one of every computation, and of a list.
var questions = [][2]string{
	{"calc", `{"name":"forecast","input":{"uptake":"fast"}}`},
	{"calc", `{"name":"quantity","input":{"kind":"length","text":"8 ft"}}`},
	{"calc", `{"name":"marks","input":{"N":768,"Count":16,"MinGap":24,"Forbidden":[[720,736]],"Fissures":[5,300],"Weight":2,"Cap":8}}`},
	{"calc", `{"name":"host","input":{"name":"green ash"}}`},
	{"calc", `{"name":"girth","input":{"girth":{"around":"96 in","height":"12 in"},"diameters":["3 in","4 in"]}}`},
	{"calc", `{"name":"place","input":{"ring":{"girth":{"around":"96 in","height":"12 in"},"wounds":[{"at":"24 in","made":"2023-05-01"}]},"count":15,"date":"2026-06-09"}}`},
	{"calc", `{"name":"bore","input":{"species":"FRXPE","girth":{"around":"96 in","height":"12 in"},"bark":[{"at":"0 in","thickness":"1/2 in"}],"hole":{"bit":"11/64 in","depth_min":"1/4 in","depth_max":"3/8 in","angle":"45 deg"},"holes":16}}`},
	{"calc", `{"name":"drain","input":{"Vg0_mL":6,"V0_mL":4,"p0_gauge_kPa":68.9,"T_use_C":20,"T_fill_C":17,"G20_mL_min_kPa":0.004,"points":[{"v_mL":0.1},{"v_mL":0.7},{"v_mL":1},{"v_mL":1.9},{"v_mL":3.3},{"v_mL":3.9}]}}`},
	{"calc", `{"name":"forecast","input":[{"uptake":"medium","past":[{"class":"medium","time":"90 min","emptied":true},{"class":"medium","time":"61 min","emptied":true},{"class":"medium","time":"240 min","emptied":false}]},{"uptake":"slow"},{"uptake":"very-slow"},{"uptake":"unknown"}]}`},
	{"calc", `{"name":"stock","input":{"lots":[{"lot":"late","label":"a","size":"4 mL","units":20,"expires":"2027-01-31"},{"lot":"soon","label":"a","size":"4 mL","units":10,"expires":"2026-08-31","coldest":"6 °C","warmest":"25 °C"}],"needs":[{"for":"T1","label":"a","size":"4 mL","units":8}],"storage":{"a":{"min":"5 °C","max":"30 °C"}},"date":"2026-06-09"}}`},
	{"calc", `{"name":"bore","input":{"wings":2}}`},
	{"trees", `{"csv":"tag,species,girth,girth_height\nQ-1,white ash,96,12 in\nQ-2,no such tree,84 in,12 in\n"}`},
}

// A browser's engine and ours are the same here too, byte for byte.
func TestWebAssemblyAnswersAlike(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the engine for WebAssembly")
	}
	node := outside.Tool(t, "node")
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	engine := filepath.Join(t.TempDir(), "desk.wasm")
	build := exec.Command("go", "build", "-trimpath", "-tags=desk", "-gcflags=all=-l", "-ldflags=-s -w", "-o", engine, "sapwell/cmd/sapwell-wasm")
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	type question struct{ Name, Input string }
	var asked []question
	for _, q := range questions {
		asked = append(asked, question{q[0], q[1]})
	}
	calls, err := json.Marshal(asked)
	if err != nil {
		t.Fatal(err)
	}
	run := exec.Command(node, "../testdata/run.cjs", filepath.Join(strings.TrimSpace(string(goroot)), "lib/wasm/wasm_exec.js"), engine)
	run.Stdin, run.Stderr = bytes.NewReader(calls), os.Stderr
	out, err := run.Output()
	if err != nil {
		t.Fatal(err)
	}
	var told struct{ Answers []string }
	if err := json.Unmarshal(out, &told); err != nil || len(told.Answers) != len(asked) {
		t.Fatalf("%d answers, want %d: %v", len(told.Answers), len(asked), err)
	}
	p := New()
	for i, q := range asked {
		if here := p.Call(q.Name, []byte(q.Input)); string(here) != told.Answers[i] {
			t.Errorf("%s %.200s\nhere  %.2000s\nthere %.2000s", q.Name, q.Input, here, told.Answers[i])
		}
	}
	outside.Ran(t, "Node.js and its WebAssembly", "the answers of an office's screen")
}

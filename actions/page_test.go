package actions

import (
	"bytes"
	"encoding"
	"encoding/json"
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sapwell/engine/quantity"
	"sapwell/internal/strict"
	"sapwell/journal"
	"sapwell/words"
)

var write = flag.Bool("write", false, "write doc/deeds.md anew")

const pageName = "../doc/deeds.md"

// doc/deeds.md is what the code says: fields from the structs, refusals from the
// source, what is written from a season in which every deed is done.
func TestThePageOfDeeds(t *testing.T) {
	want := thePage(t)
	if *write {
		if err := os.WriteFile(pageName, want, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(pageName)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		i := 0
		for i < min(len(got), len(want)) && got[i] == want[i] {
			i++
		}
		t.Errorf("%s, line %d: not what the code says; go test ./actions -run PageOfDeeds -args -write", pageName, 1+bytes.Count(got[:i], []byte("\n")))
	}
}

// opening is what the page says before the deeds.
const opening = `# Deeds

What a person can do, each thing once. Button, command line and API all do these
deeds; none of them decides anything itself. This page is written by a test from
the code: change the code, then
` + "`go test ./actions -run PageOfDeeds -args -write`" + `.

A deed takes one JSON object. It may hold only the fields listed, each once; a field
marked * must be there. ` + "`null`" + ` is the same as left out. Measures are written as
people write them, with their unit (` + "`\"96 in\"`, `\"4 mL\"`, `\"20 °C\"`" + `), or as
` + "`{\"value\": 96, \"unit\": \"[in_i]\"}`" + `; days as ` + "`\"2026-06-09\"`" + `; moments in milliseconds since
1970. In an update what is left out stays as it was.

A deed writes entries (doc/entry-kinds.md), or it is refused and writes nothing. A
refusal has a code, the field at fault, and a sentence. Besides the codes listed, every
deed may be refused by who does it (` + "`person.nobody`, `person.left`, `person.not_entitled`" + `)
and by the form of its input (` + "`input.not_json`, `input.missing`, `input.unknown`, `input.twice`,\n`input.value`" + `). What a deed finds and does not stop it is told beside the result.
`

// everywhere are the codes that every deed may be refused with.
var everywhere = []string{
	"person.nobody", "person.left", "person.not_entitled",
	"input.not_json", "input.missing", "input.unknown", "input.twice", "input.value",
}

func thePage(t *testing.T) []byte {
	t.Helper()
	say, err := words.New("en", quantity.Style{})
	if err != nil {
		t.Fatal(err)
	}
	src := readSource(t)
	written := theSeason(t)
	var b bytes.Buffer
	b.WriteString(opening)
	for _, d := range Deeds() {
		fmt.Fprintf(&b, "\n## %s\n\nWho: %s. Writes: %s.\n\n", d.Name, strings.Join(texts(d.Who), ", "), strings.Join(written[d.Name], ", "))
		b.WriteString("| field | | |\n|---|---|---|\n")
		for _, f := range strict.Fields(reflect.TypeOf(d.Input)) {
			writeField(&b, "", f, nil)
		}
		if codes := src.refusals(d.Name); len(codes) > 0 {
			fmt.Fprintf(&b, "\nRefused: `%s`.\n", strings.Join(codes, "`, `"))
		}
	}
	b.WriteString("\n## Refusals\n\nWhat is in braces is told with the refusal.\n\n| code | said as |\n|---|---|\n")
	for _, code := range src.codes() {
		sentence := say.Say("refusal." + code)
		if strings.HasPrefix(sentence, "⟨") {
			t.Errorf("%s has no words: refusal.%s is in no words/en/*.json", code, code)
		}
		fmt.Fprintf(&b, "| `%s` | %s |\n", code, template(t, code))
	}
	return b.Bytes()
}

// template is the sentence of a code with its blanks.
func template(t *testing.T, code string) string {
	t.Helper()
	names, err := filepath.Glob("../words/en/*.json")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var area map[string]any
		if err := json.Unmarshal(text, &area); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		switch m := area["refusal."+code].(type) {
		case string:
			return m
		case map[string]any:
			return fmt.Sprint(m["other"])
		}
	}
	return ""
}

// writeField writes the row of a field, and those of what lies in it.
func writeField(b *bytes.Buffer, path string, f strict.Field, above []reflect.Type) {
	typ, name := f.Of.Type, strict.Join(path, f.Name)
	must := ""
	if required(f.Of) {
		must = " *"
	}
	for typ.Kind() == reflect.Pointer {
		typ = typ.Elem()
	}
	if typ.Kind() == reflect.Slice && typ != reflect.TypeFor[json.RawMessage]() {
		typ, name = typ.Elem(), name+"[]"
	}
	fmt.Fprintf(b, "| `%s`%s | %s | %s |\n", name, must, sortOf(typ, f.Of.Tag.Get("enum")), f.Of.Tag.Get("doc"))
	if sortOf(typ, "") != "object" || slices.Contains(above, typ) {
		return
	}
	for _, inner := range strict.Fields(typ) {
		writeField(b, name, inner, append(above, typ))
	}
}

// sortOf says in a word what a value is.
func sortOf(t reflect.Type, enum string) string {
	switch t {
	case reflect.TypeFor[quantity.Length]():
		return "length"
	case reflect.TypeFor[quantity.Volume]():
		return "volume"
	case reflect.TypeFor[quantity.Temperature]():
		return "temperature"
	case reflect.TypeFor[quantity.Pressure]():
		return "pressure"
	case reflect.TypeFor[quantity.Date]():
		return "day"
	case reflect.TypeFor[quantity.System]():
		return "`metric`, `imperial`"
	case reflect.TypeFor[journal.ID]():
		return "id"
	case reflect.TypeFor[journal.Hash]():
		return "SHA-256"
	case reflect.TypeFor[json.RawMessage]():
		return "any JSON"
	}
	switch {
	case enum != "":
		return "`" + strings.ReplaceAll(enum, ",", "`, `") + "`"
	case t.Implements(reflect.TypeFor[encoding.TextMarshaler]()), t.Kind() == reflect.String:
		return "text"
	case t.Kind() == reflect.Bool:
		return "true or false"
	case t.Kind() == reflect.Struct:
		return "object"
	}
	return "whole number"
}

// source is the package's code, read as text: which codes can come out of which
// function.
type source struct {
	funcs map[string]*ast.FuncDecl // by name, a method of desk as ".name"
	deeds map[string]string        // deed to the function that does it
	known map[string]bool          // codes of refusals
}

// codeArg says which argument of what makes refusals is the code.
var codeArg = map[string]int{"badValue": 0, "refuse": 1, ".refuseUnit": 1}

func readSource(t *testing.T) *source {
	t.Helper()
	s := &source{map[string]*ast.FuncDecl{}, map[string]string{}, map[string]bool{}}
	names, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range file.Decls {
			if f, ok := decl.(*ast.FuncDecl); ok && f.Body != nil {
				if f.Recv != nil {
					s.funcs["."+f.Name.Name] = f
				} else {
					s.funcs[f.Name.Name] = f
				}
				s.note(f)
			}
		}
	}
	return s
}

// note keeps the deeds and the codes that a function names.
func (s *source) note(f *ast.FuncDecl) {
	ast.Inspect(f, func(n ast.Node) bool {
		call, ok := n.(*ast.CallExpr)
		if !ok {
			return true
		}
		name := calledName(call)
		if name == "deed" && len(call.Args) == 3 {
			s.deeds[stringOf(call.Args[0])] = call.Args[2].(*ast.Ident).Name
		}
		if i, refuses := codeArg[name]; refuses && len(call.Args) > i {
			if code := stringOf(call.Args[i]); code != "" {
				s.known[code] = true
			}
		}
		if kind := lookedUp(call); kind != "" {
			s.known[kind+".unknown"] = true
		}
		return true
	})
}

// lookedUp is the kind of subject that a call of look asks for.
func lookedUp(call *ast.CallExpr) string {
	index, ok := call.Fun.(*ast.IndexExpr)
	if !ok || len(call.Args) < 2 {
		return ""
	}
	if id, ok := index.X.(*ast.Ident); !ok || id.Name != "look" {
		return ""
	}
	of, ok := call.Args[1].(*ast.SelectorExpr)
	if !ok {
		return ""
	}
	return strings.ToLower(strings.TrimPrefix(of.Sel.Name, "Of"))
}

func calledName(call *ast.CallExpr) string {
	switch f := call.Fun.(type) {
	case *ast.Ident:
		return f.Name
	case *ast.SelectorExpr:
		return "." + f.Sel.Name
	}
	return ""
}

func stringOf(e ast.Expr) string {
	lit, ok := e.(*ast.BasicLit)
	if !ok || lit.Kind != token.STRING {
		return ""
	}
	s, _ := strconv.Unquote(lit.Value) // a literal of code that compiles
	return s
}

// refusals lists the codes that a deed can come out with, beside those of all.
func (s *source) refusals(deed string) []string {
	found, seen := map[string]bool{}, map[string]bool{}
	s.follow(s.deeds[deed], found, seen)
	for _, code := range everywhere {
		delete(found, code)
	}
	return slices.Sorted(maps.Keys(found))
}

// follow goes through a function and all that it names.
func (s *source) follow(name string, found, seen map[string]bool) {
	f := s.funcs[name]
	if f == nil || seen[name] {
		return
	}
	seen[name] = true
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BasicLit:
			if code := stringOf(n); s.known[code] {
				found[code] = true
			}
		case *ast.CallExpr:
			if kind := lookedUp(n); kind != "" {
				found[kind+".unknown"] = true
			}
			s.follow(calledName(n), found, seen)
			for _, arg := range n.Args { // a function that is handed on
				if id, ok := arg.(*ast.Ident); ok {
					s.follow(id.Name, found, seen)
				}
			}
		}
		return true
	})
}

func (s *source) codes() []string { return slices.Sorted(maps.Keys(s.known)) }

// theSeason does every deed once and tells the kinds that each wrote.
func theSeason(t *testing.T) map[string][]string {
	t.Helper()
	d := newAshDay(t)
	do := func(by journal.ID, name, input string) journal.ID { return d.do(by, name, d.with(input)) }
	do(d.boss, "org.update", `{"phone":"555-0100"}`)
	do(d.boss, "person.update", `{"person":"$train","phone":"555-0101"}`)
	do(d.boss, "person.leave", `{"person":"$look"}`)
	phone := deviceOf(testKey(9)).String()
	do(d.boss, "device.enrol", `{"device":"`+phone+`","name":"phone","person":"$app"}`)
	do(d.boss, "device.revoke", `{"device":"`+phone+`","why":"lost"}`)
	do(d.app, "grounds.update", `{"grounds":"$grounds","note":"gate code 1"}`)
	do(d.app, "tree.update", `{"tree":"$tree","where":"by the gate"}`)
	do(d.app, "tree.import", `{"grounds":"$grounds","csv":"tag,species,girth,girth_height,wounds,canopy_loss\nA-1,green ash,96 in,12 in,24 in,10\n"}`)
	d.name("wound", do(d.train, "wound.record", `{"tree":"$tree","around":"0 in"}`))
	do(d.train, "closure.record", `{"tree":"$tree","hole":"$wound","state":"closed"}`)
	do(d.app, "lot.update", `{"lot":"$lot","supplier":"Example Supply (fictional)"}`)
	do(d.app, "lot.move", `{"lot":"$lot","sort":"received","units":1}`)

	do(d.app, "plan.adjust", `{"plan":"$plan","pins":["2 in"],"why":"a nail"}`)
	d.name("hole", do(d.train, "hole.bore", `{"visit":"$visit","tree":"$tree","mark":1}`))
	one := do(d.train, "unit.seat", `{"visit":"$visit","hole":"$hole","lot":"$lot"}`)
	made := d.done(d.train, "tree.install", d.with(`{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[2]}`)).Result.(treeInstalled)
	d.name("one", one, "two", made.Units[0])
	for _, unit := range []string{"$one", "$two"} {
		d.done(d.train, "unit.pressurise", d.with(`{"visit":"$visit","unit":"`+unit+`"}`))
	}
	d.done(d.train, "unit.drain", d.with(`{"visit":"$visit","unit":"$one"}`))
	d.done(d.train, "unit.stick", d.with(`{"visit":"$visit","unit":"$two","left":"2 mL"}`))
	d.done(d.train, "unit.lift", d.with(`{"visit":"$visit","unit":"$one"}`))
	d.done(d.train, "unit.lose", d.with(`{"visit":"$visit","unit":"$two","why":"fell into the river","signed":"Bo Muster"}`))
	do(d.train, "visit.tally", `{"visit":"$visit","lots":[{"lot":"$lot","taken":2,"seated":2,"lifted":1,"lost":1,"unused":0}]}`)
	do(d.app, "visit.close", closing)
	d.name("bag", do(d.train, "bag.seal", `{"visits":["$visit"],"mark":"W-1","units":1}`))
	do(d.app, "bag.hand", `{"bag":"$bag","to":"Example Waste (fictional)","proof":"N-12"}`)
	do(d.train, "note.add", `{"on":{"kind":"tree","id":"$tree"},"text":"wasps at the flare"}`)
	do(d.app, "record.tell", `{"on":{"kind":"visit","id":"$visit"},"field":"contract.ref","text":"K-88"}`)
	do(d.train, "photo.add", `{"on":{"kind":"tree","id":"$tree"},"sha256":"`+phone+`","type":"image/jpeg","bytes":1000,"width":40,"height":30}`)
	bored := d.entryOf("hole", journal.ID{})
	d.done(d.app, "amend", amending(bored.ID, change(t, bored.Body, map[string]any{"depth_nm": 9_000_000}), "the stop had slipped"))
	d.now = quantity.NewDate(2030, 1, 1).UnixMilli()
	do(d.boss, "visit.retire", `{"visit":"$visit","why":"kept as long as it has to be"}`)
	for _, deed := range Deeds() {
		if len(d.wrote[deed.Name]) == 0 {
			t.Errorf("%s wrote nothing in the whole season", deed.Name)
		}
	}
	return d.wrote
}

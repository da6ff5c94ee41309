package main

import (
	"embed"
	"encoding/base64"
	"html/template"
	"io"
	"slices"
	"strings"
	"time"

	"sapwell/engine/why"
	"sapwell/pile"
	"sapwell/records"
)

// The page of a folder for an inspector: it opens from a stick, with no server.
//
//go:embed inspect.html
var inspectPage string

// checkerFiles are what `make build` put there for the page to check the folder
// with; a program built without has a page that only shows.
//
//go:embed all:checker
var checkerFiles embed.FS

// checker is the code of the page, or "" and "".
func checker() (engine template.HTML, glue template.JS) {
	packed, err := checkerFiles.ReadFile("checker/check.wasm.gz")
	script, err2 := checkerFiles.ReadFile("checker/wasm_exec.js")
	if err != nil || err2 != nil {
		return "", ""
	}
	return template.HTML(base64.StdEncoding.EncodeToString(packed)), template.JS(script)
}

// indexRow is one record on the page.
type indexRow struct {
	record      records.Record
	Paper, Data string
	Misses      []string
}

// Text is a fact of the record.
func (r indexRow) Text(field string) string { return r.record.Text(records.Field(field)) }

// Fictional tells that the product is invented and does not say so by its name.
func (r indexRow) Fictional() bool {
	return r.Text("product.fictional") == "true" && !strings.Contains(strings.ToLower(r.Text("product.name")), "fictional")
}

// Amended tells how many corrections the record shows.
func (r indexRow) Amended() int { return len(r.record.Amendments) }

// Kept is the last day before deleting it may be offered.
func (r indexRow) Kept() string { return dayOrNone(records.KeepUntil(r.record)) }

type indexLabel struct {
	Product, Version, RegNo string
	Fictional               bool
	File                    string
}

// misses are what the chosen profiles find, in sentences.
func (i *inspection) misses(r records.Record) (list []string) {
	for _, f := range records.Judge(r, i.say.Lang).Findings {
		list = append(list, pile.Miss(f, i.say))
	}
	return list
}

func (i *inspection) writeIndex(out io.Writer) error {
	page, err := template.New("index").Funcs(template.FuncMap{
		"say":     func(key string, terms ...any) string { return i.say.Say("inspect.page."+key, pairs(terms)...) },
		"heads":   func() []string { return strings.Fields("day tree place product amount who papers misses kept") },
		"profile": func(p records.Profile) string { return p.Name.In(i.say.Lang) },
	}).Parse(inspectPage)
	if err != nil {
		return err
	}
	engine, glue := checker()
	return page.Execute(out, map[string]any{
		"Engine": engine, "Glue": glue,
		"Lang": i.say.Lang, "Firm": i.firm, "From": dayOrNone(i.from), "To": i.last().String(),
		"Made": readable(i.now().In(i.zone).Format(time.RFC3339)), "Rows": i.rows, "Labels": i.labels, "Profiles": i.profiles(),
	})
}

// pairs makes terms of names and values that follow each other.
func pairs(list []any) (terms []why.Term) {
	for n := 0; n+1 < len(list); n += 2 {
		name, _ := list[n].(string)
		switch v := list[n+1].(type) {
		case int:
			terms = append(terms, count(name, v))
		case string:
			terms = append(terms, why.T(name, v))
		}
	}
	return terms
}

// profiles are those that the records were held against.
func (i *inspection) profiles() (list []records.Profile) {
	var chosen []string
	for _, r := range i.rows {
		ids, _ := r.record.Chosen()
		chosen = append(chosen, ids...)
	}
	for _, p := range records.Profiles() {
		if slices.Contains(chosen, p.ID) {
			list = append(list, p)
		}
	}
	return list
}

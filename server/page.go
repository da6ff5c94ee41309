package server

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/http"

	"sapwell/actions"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/store"
	"sapwell/views"
)

//go:embed page
var pageFiles embed.FS

var startPage = template.Must(template.ParseFS(pageFiles, "page/start.html"))

// startView is what the start page shows, all of it said already.
type startView struct {
	Lang, Title, Org, Today, Round, Nothing, Version string
	Visits                                           []startVisit
	Links                                            []startLink
}

type startVisit struct {
	Name, Line, Flags string
	Trees             []startTree
}

type startTree struct {
	Tag, Where, Line string
	Out              int
}

type startLink struct{ To, Text string }

// start shows today's round and the units that are out, without a script: until the
// app stands there, and for whoever has none.
func (s *Server) start(w http.ResponseWriter, r *http.Request) {
	lang := requestOf(r.Context()).lang
	c := callerOf(r.Context())
	var view startView
	err := c.ledger.Read(r.Context(), func(v store.Reader) error {
		org, err := orgOf(v)
		if err != nil {
			return err
		}
		today := s.today(org)
		visits, err := actions.Round(v, today)
		view = s.startView(lang, org, today, visits)
		return err
	})
	var text bytes.Buffer
	if err == nil {
		err = startPage.Execute(&text, view)
	}
	if err != nil {
		s.writeProblem(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(text.Bytes()) // who does not read it has gone
}

func orgOf(v store.Reader) (*views.Org, error) {
	rows, err := v.List(entries.OfOrg, "", "", "", 1)
	if err != nil || len(rows) == 0 {
		return new(views.Org), err
	}
	state, err := views.Read(rows[0])
	org, ok := state.(*views.Org)
	if err == nil && !ok {
		err = fmt.Errorf("the view of the organisation is a %T", state)
	}
	return org, err
}

func (s *Server) startView(lang string, org *views.Org, today entries.Date, visits []actions.OpenVisit) startView {
	say := func(key string, terms ...why.Term) string { return s.words.say(lang, "page."+key, terms...) }
	view := startView{
		Lang: lang, Title: say("title", why.T("name", org.Facts.Name)), Org: org.Facts.Name, Today: today.String(),
		Round: say("round"), Nothing: say("nothing"), Version: "Sapwell " + s.Version,
		Links: []startLink{{"/api/trees.csv", say("trees")}, {"/account", say("account")}, {"/openapi.json", say("api")}},
	}
	for _, v := range visits {
		out := 0
		shown := startVisit{Name: v.Name}
		for _, t := range v.Trees {
			out += t.Out
			shown.Trees = append(shown.Trees, startTree{t.Tag, t.Where, say("tree", treeTerms(t)...), t.Out})
		}
		shown.Line = say("visit", why.T("day", v.Day.String()), why.T("units", out))
		if v.Flags > 0 {
			shown.Flags = say("flags", why.T("count", v.Flags))
		}
		view.Visits = append(view.Visits, shown)
	}
	return view
}

func treeTerms(t actions.TreeOnRound) []why.Term {
	return []why.Term{
		why.T("planned", t.Planned), why.T("seated", t.Seated), why.T("drained", t.Drained),
		why.T("stuck", t.Stuck), why.T("lifted", t.Lifted), why.T("lost", t.Lost), why.T("out", t.Out),
	}
}

func style(w http.ResponseWriter, r *http.Request) {
	http.ServeFileFS(w, r, pageFiles, "page/style.css")
}

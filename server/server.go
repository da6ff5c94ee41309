// Package server answers: what does Sapwell say over HTTP, and to whom?
//
// It parses, calls and prints; it decides nothing. What a person does goes to a
// deed of package actions, what a device wrote goes to the ledger, and who may come
// in is told by the Door. Everything it serves is described in one OpenAPI document
// (doc/openapi.json), made from the Go types that the handlers use.
package server

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/accounts"
	"sapwell/store"
)

// Options is what a server is made of. All must be given but App.
type Options struct {
	Store   store.Store
	Clock   accounts.Clock
	Random  io.Reader // crypto/rand.Reader, but for tests
	Log     *slog.Logger
	Door    Door
	Version string
	App     http.Handler // gets what is no other route; nil: there is the start page only
}

// Server is the handler of all routes. It is safe for use by many at once.
type Server struct {
	Options
	handler  http.Handler
	mux      *http.ServeMux
	api      huma.API
	routes   []Route
	words    speech
	ids      *idMaker
	done     *doneDeeds
	keys     *turns
	syncs    *turns
	pictures *turns
	live     *live
	figures  *figures
	ready    ready
	text     []byte // the description of the API
}

// New makes the server. It listens to nothing yet: see Serve.
func New(o Options) *Server {
	s := &Server{
		Options:  o,
		mux:      http.NewServeMux(),
		words:    newSpeech(),
		ids:      &idMaker{random: o.Random, clock: func() int64 { return o.Clock().UnixMilli() }},
		done:     newDoneDeeds(),
		keys:     newTurns(mostKeys),
		syncs:    newTurns(mostSyncs),
		pictures: newTurns(mostCleaning),
		figures:  newFigures(),
	}
	s.live = newLive(o.Store, o.Log)
	s.api = newAPI(s)
	s.deedRoutes()
	s.viewRoutes()
	s.logRoutes()
	s.syncRoutes()
	s.packRoutes()
	s.registerRoutes()
	s.liveRoutes()
	s.photoRoutes()
	s.exportRoutes()
	s.recordRoutes()
	s.backupRoutes()
	s.plainRoutes()
	text, err := s.document()
	if err != nil {
		panic(fmt.Sprintf("describe the API: %v", err)) // it is made of our own types; a test makes it
	}
	s.text = text
	s.handler = s.observed(s.Door.Wrap(packed(http.HandlerFunc(s.serve))))
	return s
}

// now is the office's clock.
func (s *Server) now() int64 { return s.Clock().UnixMilli() }

// ServeHTTP makes the server a handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// serve finds the route, and notes its pattern for log and figures: the path
// itself may name a tree.
func (s *Server) serve(w http.ResponseWriter, r *http.Request) {
	_, pattern := s.mux.Handler(r)
	requestOf(r.Context()).pattern = pattern
	if pattern == "" {
		s.lost(w, r)
		return
	}
	s.mux.ServeHTTP(w, r)
}

// lost answers where no route is: with the app, which has screens that are no routes,
// or with a problem.
func (s *Server) lost(w http.ResponseWriter, r *http.Request) {
	probe := httpProbe{header: http.Header{}}
	s.mux.ServeHTTP(&probe, r)
	location := probe.header.Get("Location")
	switch {
	case probe.status == http.StatusMethodNotAllowed:
		w.Header().Set("Allow", probe.header.Get("Allow"))
		s.writeProblem(w, r, problem(http.StatusMethodNotAllowed, "request.method"))
	case location != "": // a path that was not clean
		http.Redirect(w, r, location, probe.status)
	case s.App != nil && (r.Method == http.MethodGet || r.Method == http.MethodHead) && !strings.HasPrefix(r.URL.Path, "/api/"):
		requestOf(r.Context()).pattern = "GET /"
		s.App.ServeHTTP(w, r)
	default:
		s.writeProblem(w, r, problem(http.StatusNotFound, "request.not_found"))
	}
}

// httpProbe takes what the mux says of a path that it does not know.
type httpProbe struct {
	header http.Header
	status int
}

func (p *httpProbe) Header() http.Header         { return p.header }
func (p *httpProbe) WriteHeader(status int)      { p.status = status }
func (p *httpProbe) Write(b []byte) (int, error) { return len(b), nil }

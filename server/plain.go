package server

import (
	"context"
	"encoding/json"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"sync"
	"time"

	"sapwell/entries"
)

// OpenRoutes are the patterns that need no session.
func OpenRoutes() []string {
	return []string{"GET /healthz", "GET /readyz", "GET /openapi.json", "GET /metrics", "GET /style.css"}
}

// LiveRoutes are the patterns whose answers go on for as long as a page is open, or
// for as long as a large file takes.
func LiveRoutes() []string {
	return []string{"GET /api/live", "GET /api/journal", "GET /api/pack", "GET /api/register", "GET /api/trees.csv", "GET /api/backup", "GET /api/records", "GET /api/papers.zip"}
}

func (s *Server) plainRoutes() {
	s.plain(anybody, http.MethodGet, "/healthz", s.healthy)
	s.plain(anybody, http.MethodGet, "/readyz", s.readyToServe)
	s.plain(anybody, http.MethodGet, "/metrics", s.metrics)
	s.plain(anybody, http.MethodGet, "/openapi.json", s.describe)
	s.plain(anybody, http.MethodGet, "/style.css", style)
	s.plain(signedIn, http.MethodGet, "/plain", s.start)
	if s.App == nil { // else that is the app's: see lost
		s.plain(signedIn, http.MethodGet, "/{$}", s.start)
	}
}

// healthy says that the program runs.
func (s *Server) healthy(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, map[string]string{"status": "running", "version": s.Version})
}

// ready remembers for a second whether the store answers, since anybody may ask.
type ready struct {
	mu    sync.Mutex
	asked time.Time
	err   error
}

// readyToServe says whether the store answers. What is wrong with it stands in the
// log, and is told by sapwell doctor.
func (s *Server) readyToServe(w http.ResponseWriter, r *http.Request) {
	if err := s.ready.check(r.Context(), s); err != nil {
		writeJSON(w, http.StatusServiceUnavailable, map[string]string{"status": "the store does not answer"})
		return
	}
	writeJSON(w, http.StatusOK, map[string]string{"status": "ready"})
}

func (q *ready) check(ctx context.Context, s *Server) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if time.Since(q.asked) < time.Second {
		return q.err
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 2*time.Second)
	defer cancel()
	_, q.err = s.Store.Orgs(ctx)
	if q.asked = time.Now(); q.err != nil {
		s.Log.ErrorContext(ctx, "not ready", "cause", q.err.Error())
	}
	return q.err
}

// metrics shows the figures to the office, and to a program on this machine.
func (s *Server) metrics(w http.ResponseWriter, r *http.Request) {
	c := callerOf(r.Context())
	if !slices.Contains(c.Roles, entries.Office) && !asksHere(r) {
		s.writeProblem(w, r, problem(http.StatusForbidden, "session.not_entitled"))
		return
	}
	w.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	_ = s.figures.write(w, s.live.count()) // who does not read it has gone
}

// asksHere reports whether a request came from this machine, and not through a
// proxy on it.
func asksHere(r *http.Request) bool {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Real-Ip", "Via"} {
		if r.Header.Get(name) != "" {
			return false
		}
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return false
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.Unmap().IsLoopback()
}

// describe serves the description of the API.
func (s *Server) describe(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "max-age=300")
	_, _ = w.Write(s.text) // who does not read it has gone
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v) // who does not read it has gone
}

package server

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"os"
	"runtime/debug"
	"syscall"
	"time"

	"sapwell/journal"
)

// request is what is noted of a request while it goes through.
type request struct {
	id      string
	lang    string
	pattern string     // of its route
	org     journal.ID // zero where nobody is signed in
}

type requestKey struct{}

// requestOf is what is noted of the request with this context.
func requestOf(ctx context.Context) *request {
	if req, ok := ctx.Value(requestKey{}).(*request); ok {
		return req
	}
	return &request{lang: fallback}
}

// observed gives every request a number, counts and logs it, and turns a panic
// into an answer without details. No name, address, token, path or query comes
// into the log: they may tell who and where somebody is.
func (s *Server) observed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		req := &request{id: s.number(), lang: s.words.asked(r)}
		r = r.WithContext(context.WithValue(r.Context(), requestKey{}, req))
		seen := &seenWriter{ResponseWriter: w}
		read := &seenReader{ReadCloser: r.Body}
		r.Body = read
		seen.Header().Set("X-Request-Id", req.id)
		s.figures.begin()
		defer func() {
			fault := recover()
			if fault != nil {
				s.panicked(seen, r, fault)
			}
			took := time.Since(start)
			s.figures.end(r.Method, req.pattern, seen.code(), took)
			s.note(r, req, seen, read.n, took)
			if fault != nil && seen.cut {
				panic(http.ErrAbortHandler) // half an answer must not look whole
			}
		}()
		next.ServeHTTP(seen, r)
	})
}

// panicked logs where it happened and answers, where nothing was answered yet.
func (s *Server) panicked(w *seenWriter, r *http.Request, fault any) {
	if err, ok := fault.(error); ok && (err == http.ErrAbortHandler || gone(err)) { //nolint:errorlint // the value itself is thrown
		w.status, w.cut = statusGone, true
		return
	}
	s.Log.ErrorContext(r.Context(), "panic", "request", requestOf(r.Context()).id, "fault", panicText(fault), "stack", string(debug.Stack()))
	if w.status == 0 {
		s.writeProblem(w, r, problem(http.StatusInternalServerError, "server.fault"))
		return
	}
	w.status, w.cut = http.StatusInternalServerError, true
}

// gone reports whether an answer could not be written because nobody takes it any
// more: huma panics then.
func gone(err error) bool {
	return errors.Is(err, syscall.EPIPE) || errors.Is(err, syscall.ECONNRESET) || errors.Is(err, os.ErrDeadlineExceeded)
}

// panicText is what is logged of a panic: its sort where it is an error, since the
// text of an error may hold what somebody wrote.
func panicText(fault any) string {
	if err, ok := fault.(interface{ RuntimeError() }); ok {
		if e, ok := err.(error); ok {
			return e.Error()
		}
	}
	if text, ok := fault.(string); ok {
		return text
	}
	return "see the stack"
}

func (s *Server) note(r *http.Request, req *request, w *seenWriter, in int64, took time.Duration) {
	level := slog.LevelInfo
	if w.code() >= http.StatusInternalServerError {
		level = slog.LevelError
	}
	s.Log.LogAttrs(r.Context(), level, "request",
		slog.String("request", req.id), slog.String("method", knownMethod(r.Method)), slog.String("route", req.pattern),
		slog.Int("status", w.code()), slog.Float64("ms", float64(took.Microseconds())/1000),
		slog.Int64("in", in), slog.Int64("out", w.n), slog.String("org", shortOf(req.org)))
}

// shortOf stands for an organisation in the log.
func shortOf(org journal.ID) string {
	if org == (journal.ID{}) {
		return ""
	}
	sum := sha256.Sum256(org[:])
	return hex.EncodeToString(sum[:4])
}

// number is that of a request in the log.
func (s *Server) number() string {
	var b [8]byte
	if _, err := io.ReadFull(s.Random, b[:]); err != nil {
		return "unnumbered"
	}
	return hex.EncodeToString(b[:])
}

// knownMethod keeps what a stranger made up out of log and figures.
func knownMethod(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodDelete, http.MethodOptions, http.MethodPatch:
		return m
	}
	return "other"
}

// seenWriter notes status and size of an answer.
type seenWriter struct {
	http.ResponseWriter
	status int
	n      int64
	cut    bool // the answer ends before its end
}

func (w *seenWriter) WriteHeader(status int) {
	if w.status == 0 && status >= 200 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *seenWriter) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.n += int64(n)
	return n, err
}

// Unwrap lets http.ResponseController through.
func (w *seenWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

func (w *seenWriter) code() int {
	if w.status == 0 {
		return http.StatusOK
	}
	return w.status
}

// seenReader notes the size of what was sent.
type seenReader struct {
	io.ReadCloser
	n int64
}

func (r *seenReader) Read(b []byte) (int, error) {
	n, err := r.ReadCloser.Read(b)
	r.n += int64(n)
	return n, err
}

package server

import (
	"context"
	"encoding/json"
	"errors"
	"net"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/actions"
	"sapwell/journal"
	"sapwell/store"
)

// Problem is the answer to a request that was not done (RFC 9457). Code is for
// machines and never changes; Detail is one sentence in the language asked for;
// Request finds the line of the log.
type Problem struct {
	Type    string        `json:"type" doc:"always about:blank: the code tells"`
	Title   string        `json:"title" doc:"the HTTP status in words"`
	Status  int           `json:"status" doc:"the HTTP status"`
	Code    string        `json:"code" doc:"what is wrong, for machines"`
	Field   string        `json:"field,omitempty" doc:"the place in the input that it is about"`
	Detail  string        `json:"detail" doc:"what is wrong, in the language asked for"`
	Request string        `json:"request,omitempty" doc:"the request's number in the log of the server"`
	Errors  []ProblemPart `json:"errors,omitempty" doc:"every place that has not the documented form"`
}

// ProblemPart is one place of a request that has not the documented form.
type ProblemPart struct {
	Field  string `json:"field"`
	Detail string `json:"detail"`
}

func (p *Problem) Error() string { return p.Code }

// GetStatus is the HTTP status, for huma.
func (p *Problem) GetStatus() int { return p.Status }

// ContentType is that of RFC 9457, for huma.
func (p *Problem) ContentType(string) string { return "application/problem+json" }

// GetHeaders tells a client that may come again when to, for huma.
func (p *Problem) GetHeaders() http.Header {
	if p.Status == http.StatusServiceUnavailable {
		return http.Header{"Retry-After": {"2"}}
	}
	return nil
}

// problem makes a problem whose sentence is still to be said: see answerTo.
func problem(status int, code string) *Problem {
	return &Problem{Type: "about:blank", Title: http.StatusText(status), Status: status, Code: code}
}

// in names the place in the input that the problem is about.
func (p *Problem) in(field string) *Problem {
	p.Field = field
	return p
}

// statusOf sorts refusals of deeds.
var statusOf = map[actions.RefusalKind]int{
	actions.BadInput:  http.StatusUnprocessableEntity,
	actions.NotFound:  http.StatusNotFound,
	actions.Forbidden: http.StatusForbidden,
	actions.Conflict:  http.StatusConflict,
}

// answerTo is the problem that an error is answered with. What the server itself
// is at fault for is logged with its cause and answered without.
func (s *Server) answerTo(ctx context.Context, err error) *Problem {
	req := requestOf(ctx)
	var p *Problem
	var refused *actions.Refusal
	switch {
	case errors.As(err, &refused):
		p = problem(statusOf[refused.Kind], refused.Code).in(refused.Field)
		p.Detail = s.words.refusal(req.lang, refused)
	case errors.As(err, &p):
		said := *p
		p = &said
	default:
		p = s.faultOf(ctx, err)
	}
	if p.Detail == "" {
		p.Detail = s.words.say(req.lang, "http."+p.Code)
	}
	p.Request = req.id
	return p
}

// faultOf sorts errors that nobody made for an answer.
func (s *Server) faultOf(ctx context.Context, err error) *Problem {
	var large *http.MaxBytesError
	var slow net.Error
	var fault *journal.Fault
	switch {
	case errors.As(err, &large):
		return problem(http.StatusRequestEntityTooLarge, "request.too_large")
	case errors.Is(err, context.DeadlineExceeded): // of ours; it is a net.Error too
		return problem(http.StatusServiceUnavailable, "server.busy")
	case errors.As(err, &slow) && slow.Timeout():
		return problem(http.StatusRequestTimeout, "request.too_slow")
	case errors.Is(err, store.ErrNotFound):
		return problem(http.StatusNotFound, "thing.not_found")
	case errors.Is(err, store.ErrFull):
		return problem(http.StatusInsufficientStorage, "store.full")
	case errors.Is(err, store.ErrReadOnly):
		return problem(http.StatusServiceUnavailable, "store.read_only")
	case errors.As(err, &fault):
		return problem(http.StatusUnprocessableEntity, "journal.unsound")
	case errors.Is(err, context.Canceled):
		return problem(statusGone, "request.given_up")
	}
	s.Log.ErrorContext(ctx, "fault", "request", requestOf(ctx).id, "cause", err.Error())
	return problem(http.StatusInternalServerError, "server.fault")
}

// statusGone is for the log: the client closed the connection and reads no answer.
const statusGone = 499

// writeProblem answers outside of huma.
func (s *Server) writeProblem(w http.ResponseWriter, r *http.Request, err error) {
	p := s.answerTo(r.Context(), err)
	w.Header().Set("Content-Type", p.ContentType(""))
	w.Header().Set("Content-Language", requestOf(r.Context()).lang)
	w.Header().Set("Cache-Control", "no-store")
	for name, values := range p.GetHeaders() {
		w.Header()[name] = values
	}
	w.WriteHeader(p.Status)
	_ = json.NewEncoder(w).Encode(p) // who does not read it has gone
}

// inOurWords turns what huma says of a request that has not the documented form
// into a Problem, and keeps back what it says of faults.
func (s *Server) inOurWords(ctx huma.Context, _ string, v any) (any, error) {
	theirs, ok := v.(*huma.ErrorModel)
	if !ok {
		return v, nil
	}
	p := problem(theirs.Status, codeOf[theirs.Status])
	switch {
	case theirs.Detail == "cannot read request body": // which huma takes for a fault of ours
		p = problem(http.StatusBadRequest, "request.cut")
	case p.Code == "":
		p.Code = "server.fault"
		s.Log.ErrorContext(ctx.Context(), "fault", "request", requestOf(ctx.Context()).id, "cause", theirs.Detail)
	default:
		for _, e := range theirs.Errors {
			p.Errors = append(p.Errors, ProblemPart{Field: e.Location, Detail: e.Message})
		}
	}
	return s.answerTo(ctx.Context(), p), nil
}

// codeOf names what huma refuses by itself.
var codeOf = map[int]string{
	http.StatusBadRequest:            "request.malformed",
	http.StatusUnprocessableEntity:   "request.malformed",
	http.StatusNotAcceptable:         "request.malformed",
	http.StatusUnsupportedMediaType:  "request.other_type",
	http.StatusRequestEntityTooLarge: "request.too_large",
	http.StatusRequestTimeout:        "request.too_slow",
}

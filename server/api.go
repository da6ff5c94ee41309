package server

import (
	"context"
	"net/http"
	"reflect"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// Route is one way in.
type Route struct {
	Method string
	Path   string // as http.ServeMux has it
	may    may
}

// Routes lists all ways in but those of the Door.
func (s *Server) Routes() []Route { return s.routes }

// apiVersion is that of the description; it grows when a route changes its form.
const apiVersion = "1"

// mostBody is how much a request may send, where its route does not say otherwise.
const mostBody = 1 << 20

// readTime is how long a body may take to come in.
const readTime = 20 * time.Second

func newAPI(s *Server) huma.API {
	json := huma.DefaultJSONFormat
	return humago.New(s.mux, huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info: &huma.Info{
				Title:   "Sapwell",
				Version: apiVersion,
				Description: "Trunk micro-injection from the first look at a tree to the record. Lengths are whole nanometres, volumes whole nanolitres, " +
					"times milliseconds since 1970, money cents. What is not done is answered as application/problem+json.",
			},
			Components: &huma.Components{Schemas: newRegistry(), SecuritySchemes: map[string]*huma.SecurityScheme{
				"session": {Type: "apiKey", In: "cookie", Name: "__Host-sapwell", Description: "a browser that signed in"},
				"local":   {Type: "apiKey", In: "cookie", Name: "sapwell", Description: "the same on this machine, without TLS; one user on this machine needs none"},
				"device":  {Type: "http", Scheme: "bearer", Description: "an enrolled device"},
			}},
		},
		Formats:                      map[string]huma.Format{"application/json": json, "json": json},
		DefaultFormat:                "application/json",
		RejectUnknownQueryParameters: true,
		Transformers:                 []huma.Transformer{s.inOurWords},
	})
}

// at begins the description of an operation.
func at(method, path, id, tag, summary string) huma.Operation {
	return huma.Operation{OperationID: id, Method: method, Path: path, Tags: []string{tag}, Summary: summary}
}

// route adds an operation: in comes who asked and what was sent, out goes what is
// printed. All that is not JSON is written by the function in O's Body.
func route[I, O any](s *Server, m may, op huma.Operation, do func(context.Context, caller, *I) (*O, error)) {
	s.routes = append(s.routes, Route{op.Method, op.Path, m})
	describeAccess(&op, m)
	describeProblems(&op, s.api.OpenAPI().Components.Schemas)
	if op.MaxBodyBytes == 0 {
		op.MaxBodyBytes = mostBody
	}
	if op.BodyReadTimeout == 0 {
		op.BodyReadTimeout = readTime
	}
	op.Middlewares = append(huma.Middlewares{s.admitted(m)}, op.Middlewares...)
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := do(ctx, callerOf(ctx), in)
		if err != nil {
			return nil, s.answerTo(ctx, err)
		}
		return out, nil
	})
}

// describeBody says what a route is sent. It is said after the route was added, since
// huma takes a body that a handler reads itself for bare bytes.
func (s *Server) describeBody(op huma.Operation, content map[string]*huma.MediaType) {
	item := s.api.OpenAPI().Paths[op.Path]
	for _, added := range []*huma.Operation{item.Post, item.Put} {
		if added != nil && added.Method == op.Method {
			added.RequestBody = &huma.RequestBody{Required: true, Content: content}
		}
	}
}

// bytesOf is the shape of bytes.
func bytesOf(kinds ...string) map[string]*huma.MediaType {
	content := map[string]*huma.MediaType{}
	for _, kind := range kinds {
		content[kind] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}}
	}
	return content
}

type callerKey struct{}

func callerOf(ctx context.Context) caller {
	c, _ := ctx.Value(callerKey{}).(caller)
	return c
}

// admitted looks at who asks before a byte of the body is read.
func (s *Server) admitted(m may) func(huma.Context, func(huma.Context)) {
	return func(ctx huma.Context, next func(huma.Context)) {
		c, err := s.enter(ctx.Context(), m)
		if err != nil {
			r, w := humago.Unwrap(ctx)
			s.writeProblem(w, r, err)
			return
		}
		ctx.SetHeader("Cache-Control", "no-store")
		next(huma.WithValue(ctx, callerKey{}, c))
	}
}

func describeAccess(op *huma.Operation, m may) {
	switch {
	case m.open:
		op.Security = []map[string][]string{}
	case m.device:
		op.Security = []map[string][]string{{"device": {}}}
	default:
		op.Security = []map[string][]string{{"session": {}}, {"local": {}}, {"device": {}}}
	}
	if len(m.roles) > 0 {
		var names []string
		for _, r := range m.roles {
			names = append(names, string(r))
		}
		op.Description = strings.TrimSpace(op.Description + "\n\nFor: " + strings.Join(names, ", ") + ".")
	}
}

// describeProblems says that anything else is answered with a Problem.
func describeProblems(op *huma.Operation, registry huma.Registry) {
	if op.Responses == nil {
		op.Responses = map[string]*huma.Response{}
	}
	if op.Responses["200"] == nil {
		op.Responses["200"] = &huma.Response{Description: "done"}
	}
	op.Responses["default"] = &huma.Response{
		Description: "not done, and why",
		Content: map[string]*huma.MediaType{"application/problem+json": {
			Schema: registry.Schema(reflect.TypeFor[Problem](), true, ""),
		}},
	}
}

// plain adds a route that is not of the API: pages, health, figures.
func (s *Server) plain(m may, method, path string, handle http.HandlerFunc) {
	s.routes = append(s.routes, Route{method, path, m})
	s.mux.HandleFunc(method+" "+path, func(w http.ResponseWriter, r *http.Request) {
		c, err := s.enter(r.Context(), m)
		if err != nil {
			s.writeProblem(w, r, err)
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		handle(w, r.WithContext(context.WithValue(r.Context(), callerKey{}, c)))
	})
}

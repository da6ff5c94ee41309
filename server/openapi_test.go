package server

import (
	"bytes"
	"crypto/rand"
	"flag"
	"io"
	"log/slog"
	"net/http"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"

	"sapwell/internal/outside"
	"sapwell/store/mem"
)

var rewrite = flag.Bool("rewrite", false, "write doc/openapi.json anew")

const docFile = "../doc/openapi.json"

func readFile(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// bare is a server that nobody asks anything.
func bare() *Server {
	return New(Options{Store: mem.New(), Clock: time.Now, Random: rand.Reader, Log: slog.New(slog.DiscardHandler), Door: noDoor{}})
}

type noDoor struct{}

func (noDoor) Wrap(h http.Handler) http.Handler { return h }

// The description that is checked in is the one that is served. After a change:
//
//	go test ./server -run Description -rewrite
func TestDescriptionIsCheckedIn(t *testing.T) {
	served := bare().text
	if *rewrite {
		if err := os.WriteFile(docFile, served, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(served, readFile(t, docFile)) {
		t.Errorf("%s is not what is served; go test ./server -run Description -rewrite", docFile)
	}
}

// An outside validator takes the description for OpenAPI 3.1.
func TestDescriptionIsValid(t *testing.T) {
	v := newValidator(t, bare().text)
	if ok, faults := v.ValidateDocument(); !ok {
		for _, f := range faults {
			t.Error(f)
		}
	}
	outside.Ran(t, "pb33f/libopenapi-validator v0.16.2", "doc/openapi.json against the OpenAPI 3.1 schema")
}

// checked holds every request that was done, and every answer, against the
// description. It is made once for all tests: compiling the shapes takes a while.
var checked struct {
	sync.Mutex
	validator.Validator
	count int
}

// check holds one exchange against the description. Routes that are not of the API
// are no part of it.
func check(t testing.TB, q question, res *http.Response, body []byte) {
	t.Helper()
	if !strings.HasPrefix(res.Request.URL.Path, "/api/") || res.StatusCode == http.StatusTemporaryRedirect {
		return
	}
	checked.Lock()
	defer checked.Unlock()
	if checked.Validator == nil {
		checked.Validator = newValidator(t, bare().text)
	}
	if bytes.Contains(body, []byte(`"request.not_found"`)) || bytes.Contains(body, []byte(`"request.method"`)) {
		return // no route, so nothing is said of it
	}
	checked.count++
	copied := *res
	copied.Body = io.NopCloser(bytes.NewReader(body))
	copied.Header = res.Header.Clone()
	ok, faults := checked.ValidateHttpResponse(res.Request, &copied)
	if ok && res.StatusCode < 300 && q.sent != nil {
		again := res.Request.Clone(res.Request.Context())
		again.Body = io.NopCloser(bytes.NewReader(q.sent))
		ok, faults = checked.ValidateHttpRequestSync(again)
	}
	if !ok {
		for _, f := range faults {
			t.Errorf("%s %s: not as described: %s: %s %v", q.method, q.path, f.Message, f.Reason, f.SchemaValidationErrors)
		}
	}
}

func newValidator(t testing.TB, text []byte) validator.Validator {
	t.Helper()
	doc, err := libopenapi.NewDocument(text)
	if err != nil {
		t.Fatal(err)
	}
	v, faults := validator.NewValidator(doc)
	if len(faults) > 0 {
		t.Fatal(faults)
	}
	return v
}

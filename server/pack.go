package server

import (
	"compress/gzip"
	"mime"
	"net/http"
	"slices"
	"strings"
	"sync"
)

// leastPacked is below what one network packet holds anyway.
const leastPacked = 1200

// packedTypes are those that get much smaller. Pictures are packed already, and the
// live stream must come through at once.
var packedTypes = []string{"application/json", "application/problem+json", "application/x-ndjson", "text/csv", "text/html", "text/plain"}

var packers = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // the level is a good one
	return z
}}

// packed answers in gzip where the client understands it and it is worth it.
func packed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !understandsGzip(r) {
			next.ServeHTTP(w, r)
			return
		}
		p := &packWriter{ResponseWriter: w}
		next.ServeHTTP(p, r)
		p.close() // not after a panic: half an answer must not look whole
	})
}

// understandsGzip reads Accept-Encoding (RFC 9110, section 12.5.3) as far as gzip is
// named; who says only * gets it plain.
func understandsGzip(r *http.Request) bool {
	for part := range strings.SplitSeq(strings.Join(r.Header.Values("Accept-Encoding"), ","), ",") {
		name, q, _ := strings.Cut(part, ";")
		if strings.EqualFold(strings.TrimSpace(name), "gzip") {
			q = strings.TrimRight(strings.ReplaceAll(q, " ", ""), "0")
			return q != "q=" && q != "q=0."
		}
	}
	return false
}

// packWriter holds the beginning of an answer back until it knows whether to pack.
type packWriter struct {
	http.ResponseWriter
	status int
	held   []byte
	plain  bool
	z      *gzip.Writer
}

func (p *packWriter) WriteHeader(status int) {
	if p.plain || p.z != nil || status < 200 {
		p.ResponseWriter.WriteHeader(status)
		return
	}
	p.status = status
	kind, _, err := mime.ParseMediaType(p.Header().Get("Content-Type"))
	done := p.Header().Get("Content-Encoding") != "" // by whoever answers
	if p.plain = err != nil || done || !slices.Contains(packedTypes, kind); p.plain {
		p.ResponseWriter.WriteHeader(status)
		return
	}
	p.Header().Add("Vary", "Accept-Encoding")
}

func (p *packWriter) Write(b []byte) (int, error) {
	if p.status == 0 {
		p.WriteHeader(http.StatusOK)
	}
	switch {
	case p.plain:
		return p.ResponseWriter.Write(b)
	case p.z != nil:
		return p.z.Write(b)
	case len(p.held)+len(b) < leastPacked:
		p.held = append(p.held, b...)
		return len(b), nil
	}
	h := p.Header()
	h.Set("Content-Encoding", "gzip")
	h.Del("Content-Length")
	p.ResponseWriter.WriteHeader(p.status)
	p.z, _ = packers.Get().(*gzip.Writer)
	p.z.Reset(p.ResponseWriter)
	if _, err := p.z.Write(p.held); err != nil {
		return 0, err
	}
	return p.z.Write(b)
}

// close sends what is held back.
func (p *packWriter) close() {
	switch {
	case p.z != nil:
		_ = p.z.Close() // who does not read it has gone
		packers.Put(p.z)
	case p.status != 0 && !p.plain:
		p.ResponseWriter.WriteHeader(p.status)
		_, _ = p.ResponseWriter.Write(p.held) // as above
	}
}

// Unwrap lets http.ResponseController through.
func (p *packWriter) Unwrap() http.ResponseWriter { return p.ResponseWriter }

package server

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"
)

// How a stream of events lives.
const (
	heartbeat   = 20 * time.Second
	writeTime   = 10 * time.Second
	longestLive = 15 * time.Minute // then the page asks again, and the door looks again at who it is
)

type liveInput struct {
	Last string `header:"Last-Event-ID" maxLength:"20" doc:"size of the log that the page knows; what came in since is told first"`
}

// streamed is an answer that is written by hand.
type streamed struct {
	Body func(huma.Context)
}

func (s *Server) liveRoutes() {
	op := at(http.MethodGet, "/api/live", "live", "views", "what changes, as it changes")
	op.Description = "Server-sent events. The id of each is the size of the log after it. \"ready\" comes first, then a \"changed\" for whatever comes in. " +
		"The stream ends after a quarter of an hour, or when the reader is too slow: ask again with Last-Event-ID."
	op.Responses = map[string]*huma.Response{"200": {
		Description: "a stream of events; the data of each is such an object",
		Content:     map[string]*huma.MediaType{"text/event-stream": {Schema: &huma.Schema{Type: huma.TypeString}}, "application/json": {Schema: s.shape(change{})}},
	}}
	route(s, signedIn, op, s.listen)
}

func (s *Server) listen(ctx context.Context, c caller, in *liveInput) (*streamed, error) {
	size, err := c.ledger.Size(ctx)
	if err != nil {
		return nil, err
	}
	from := size
	if in.Last != "" {
		n, err := strconv.ParseInt(in.Last, 10, 64)
		if err != nil || n < 0 {
			return nil, problem(http.StatusUnprocessableEntity, "request.malformed").in("header.Last-Event-ID")
		}
		from = min(n, size)
	}
	heard, at, err := s.live.join(c.ledger, size)
	if err != nil {
		return nil, err
	}
	return &streamed{Body: func(ctx huma.Context) {
		defer s.live.leave(c.Org, heard)
		r, w := humago.Unwrap(ctx)
		span, cancel := context.WithTimeout(r.Context(), longestLive)
		defer cancel()
		events := &events{w: w, conn: http.NewResponseController(w)}
		events.run(span, c, from, at, heard)
	}}, nil
}

// events writes to one page. The first error ends it: the page comes back.
type events struct {
	w    io.Writer
	conn *http.ResponseController
}

func (e *events) run(ctx context.Context, c caller, from, at int64, heard <-chan change) {
	_ = e.conn.SetReadDeadline(time.Time{}) // nothing more is to be read; the end of a request's time must not end this
	h := e.w.(http.ResponseWriter).Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("X-Accel-Buffering", "no") // a proxy in between must not wait for more
	if e.send("ready", change{Size: from}) != nil || e.catchUp(ctx, c, from, at) != nil {
		return
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		var err error
		select {
		case <-ctx.Done():
			return
		case <-beat.C:
			err = e.write(":\n\n")
		case change, ok := <-heard:
			if !ok {
				return
			}
			err = e.send("changed", change)
		}
		if err != nil {
			return
		}
	}
}

// catchUp tells what came in between what the page knows and where it joined.
func (e *events) catchUp(ctx context.Context, c caller, from, at int64) error {
	for from < at {
		next, _, err := changeFrom(ctx, c.ledger, from)
		if err == nil {
			err = e.send("changed", next)
		}
		if err != nil || next.Size == from {
			return err
		}
		from = next.Size
	}
	return nil
}

func (e *events) send(name string, c change) error {
	data, err := json.Marshal(c)
	if err != nil {
		return err
	}
	return e.write(fmt.Sprintf("event: %s\nid: %d\ndata: %s\n\n", name, c.Size, data))
}

func (e *events) write(text string) error {
	_ = e.conn.SetWriteDeadline(time.Now().Add(writeTime)) // where it can be set
	if _, err := io.WriteString(e.w, text); err != nil {
		return err
	}
	return e.conn.Flush()
}

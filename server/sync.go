package server

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"sapwell/actions"
	"sapwell/journal"
	"sapwell/store"
)

// ndjson is JSON in lines, which is what a journal is.
const ndjson = "application/x-ndjson"

// How much one sync may bring and take. What is more is sent in a further request.
const (
	mostPacked   = 4 << 20 // bytes on the wire
	mostUnpacked = 16 << 20
	mostLines    = 10_000
	usualGift    = 1 << 20 // bytes of lines that the office gives
	mostGift     = 4 << 20
	mostSyncs    = 16              // at once, one a device; the others wait
	patience     = 2 * time.Minute // and for so long
)

type syncInput struct {
	Accept   string `header:"Accept" hidden:"true"`
	Type     string `header:"Content-Type" hidden:"true"`
	Encoding string `header:"Content-Encoding" enum:"gzip,identity" doc:"how the body is packed"`
	Limit    int    `query:"limit" minimum:"1" maximum:"4194304" default:"1048576" doc:"bytes of lines to be given, about; at least one line is"`
	RawBody  []byte `contentType:"application/json"`
}

// SyncRequest is what a device has and what it gives.
type SyncRequest struct {
	Offer []journal.Known `json:"offer" nullable:"false" doc:"what the device has, with what it gives now: section 8 of the format of the journal"`
	Lines []string        `json:"lines,omitempty" nullable:"false" doc:"entries, each byte for byte without its line feed, in any order"`
}

// SyncAnswer is what became of the gift, and what the office gives in turn.
type SyncAnswer struct {
	Added   int             `json:"added" doc:"lines that were new and are on the disk now"`
	Known   int             `json:"known" doc:"lines that were there already"`
	Aside   []SyncAside     `json:"aside" nullable:"false" doc:"lines that were kept apart: sound, but not from somebody who may write them"`
	Refused []SyncRefused   `json:"refused" nullable:"false" doc:"lines that are not sound; they were not kept"`
	Lines   []string        `json:"lines" nullable:"false" doc:"entries that the device lacks, each byte for byte"`
	More    bool            `json:"more,omitempty" doc:"it lacks others: take these, then ask again with a new offer"`
	Offer   []journal.Known `json:"offer" nullable:"false" doc:"what the office has now"`
	Head    string          `json:"head" doc:"the signed head of the log, byte for byte"`
}

// SyncAside is a line that was kept apart.
type SyncAside struct {
	Line int    `json:"line" doc:"its place in the gift, from 1"`
	Why  string `json:"why" doc:"unknown, revoked, not_theirs, not_entitled, or after: it follows one that was kept apart"`
}

// SyncRefused is a line that is not sound.
type SyncRefused struct {
	Line   int    `json:"line" doc:"its place in the gift, from 1"`
	ID     string `json:"id,omitempty" doc:"of the entry, if it could be read so far"`
	Reason string `json:"reason"`
}

type syncOutput struct {
	Type string `header:"Content-Type" hidden:"true"`
	Body []byte
}

func (s *Server) syncRoutes() {
	op := at(http.MethodPost, "/api/sync", "sync", "journal", "two offers and two gifts in one round trip")
	op.Description = "A device sends what it has and what the office may lack; the office takes it and answers with what the device lacks. " +
		"Sending the same again changes nothing, so a request that was cut off is sent again. " +
		"As application/x-ndjson the first line is the object without its lines, and each further line an entry; who accepts that is answered so too."
	op.Responses = map[string]*huma.Response{"200": {
		Description: "what became of the gift, and the gift in turn",
		Content:     map[string]*huma.MediaType{"application/json": {Schema: s.shape(SyncAnswer{})}, ndjson: {}},
	}}
	op.SkipValidateBody = true
	op.MaxBodyBytes = mostPacked
	op.Middlewares = huma.Middlewares{s.inTurn}
	route(s, devices, op, s.sync)
	s.describeBody(op, map[string]*huma.MediaType{
		"application/json": {Schema: s.shape(SyncRequest{})},
		ndjson:             {},
	})
}

// inTurn lets only so many read their bodies at once, which bounds the memory that
// they take.
func (s *Server) inTurn(ctx huma.Context, next func(huma.Context)) {
	s.queue(ctx, next, s.syncs, callerOf(ctx.Context()).Device)
}

// queue waits for a turn, for a while.
func (s *Server) queue(ctx huma.Context, next func(huma.Context), in *turns, name journal.Hash) {
	waiting, cancel := context.WithTimeout(ctx.Context(), patience)
	defer cancel()
	release, err := in.take(waiting, name)
	r, w := humago.Unwrap(ctx)
	if err != nil {
		s.writeProblem(w, r, err)
		return
	}
	defer release()
	r.Body = &freshBody{ReadCloser: r.Body, conn: http.NewResponseController(w), until: time.Now().Add(readTime)}
	next(ctx)
}

// freshBody is a body whose time begins when its turn has come. The door began to
// count when the request came in.
type freshBody struct {
	io.ReadCloser
	conn  *http.ResponseController
	until time.Time
}

func (b *freshBody) Read(p []byte) (int, error) {
	_ = b.conn.SetReadDeadline(b.until) // where it can be set
	return b.ReadCloser.Read(p)
}

func (s *Server) sync(ctx context.Context, c caller, in *syncInput) (*syncOutput, error) {
	offer, lines, err := readGift(in)
	if err != nil {
		return nil, err
	}
	var a SyncAnswer
	if err := s.take(ctx, c, lines, &a); err != nil {
		return nil, err
	}
	if err := s.give(ctx, c, offer, min(in.Limit, mostGift), &a); err != nil {
		return nil, err
	}
	return printAnswer(a, strings.Contains(in.Accept, ndjson))
}

// printAnswer writes an answer as JSON, or its lines as lines.
func printAnswer(a SyncAnswer, asLines bool) (*syncOutput, error) {
	if !asLines {
		text, err := json.Marshal(a)
		return &syncOutput{"application/json", text}, err
	}
	lines := a.Lines
	a.Lines = []string{}
	text, err := json.Marshal(a)
	for _, line := range lines {
		text = append(append(text, '\n'), line...)
	}
	return &syncOutput{ndjson, append(text, '\n')}, err
}

// take merges what the device gives.
func (s *Server) take(ctx context.Context, c caller, lines [][]byte, a *SyncAnswer) error {
	a.Aside, a.Refused = []SyncAside{}, []SyncRefused{}
	if len(lines) == 0 {
		return nil
	}
	merged, err := c.ledger.Merge(ctx, lines, s.now(), func(v store.Reader, e journal.Entry) (string, error) {
		return actions.Admit(v, e)
	})
	if err != nil {
		return err
	}
	a.Added, a.Known = len(merged.Added), merged.Known
	places := make(map[journal.Hash]int)
	if len(merged.Aside) > 0 {
		for i, line := range lines {
			places[journal.HashLine(line)] = i + 1
		}
	}
	for _, l := range merged.Aside {
		a.Aside = append(a.Aside, SyncAside{places[journal.HashLine(l.Line)], l.Why})
	}
	for _, f := range merged.Refused {
		a.Refused = append(a.Refused, SyncRefused{f.Line, f.ID, f.Reason.Error()})
	}
	s.figures.merged(a)
	if a.Added > 0 {
		s.live.nudge(c.Org)
	}
	return nil
}

// give finds what the device lacks.
func (s *Server) give(ctx context.Context, c caller, offer []journal.Known, limit int, a *SyncAnswer) error {
	lines, more, err := c.ledger.Missing(ctx, offer, limit)
	if err != nil {
		return err
	}
	a.Lines, a.More = make([]string, len(lines)), more
	for i, line := range lines {
		a.Lines[i] = string(line)
	}
	if a.Offer, err = c.ledger.Offer(ctx); err != nil {
		return err
	}
	signer, err := s.signer(ctx, c.Org)
	if err != nil {
		return err
	}
	head, err := c.ledger.Head(ctx, signer, s.now())
	a.Head = string(head)
	return err
}

// readGift unpacks and reads what a device sent.
func readGift(in *syncInput) (offer []journal.Known, lines [][]byte, err error) {
	body := in.RawBody
	if in.Encoding == "gzip" {
		if body, err = unpack(body, mostUnpacked); err != nil {
			return nil, nil, err
		}
	}
	kind, _, err := mime.ParseMediaType(in.Type)
	switch {
	case err == nil && kind == ndjson:
		offer, lines, err = readLines(body)
	case err == nil && kind == "application/json":
		offer, lines, err = readJSON(body)
	default:
		return nil, nil, problem(http.StatusUnsupportedMediaType, "request.other_type").in("header.Content-Type")
	}
	if err == nil && len(lines) > mostLines {
		err = problem(http.StatusRequestEntityTooLarge, "sync.too_many")
	}
	return offer, lines, err
}

func readJSON(body []byte) (offer []journal.Known, lines [][]byte, err error) {
	var sent SyncRequest
	if err := readObject(body, &sent); err != nil {
		return nil, nil, err
	}
	for _, line := range sent.Lines {
		lines = append(lines, []byte(line))
	}
	return sent.Offer, lines, nil
}

func readLines(body []byte) (offer []journal.Known, lines [][]byte, err error) {
	first, rest, _ := bytes.Cut(body, []byte("\n"))
	var sent SyncRequest
	if err := readObject(first, &sent); err != nil {
		return nil, nil, err
	}
	for len(rest) > 0 && len(lines) <= mostLines {
		var line []byte
		line, rest, _ = bytes.Cut(rest, []byte("\n"))
		lines = append(lines, line)
	}
	return sent.Offer, lines, nil
}

// readObject reads one JSON object and nothing after it.
func readObject(text []byte, to any) error {
	malformed := problem(http.StatusUnprocessableEntity, "request.malformed")
	if !utf8.Valid(text) {
		return malformed.in("body")
	}
	if depth(text) > mostDepth {
		return problem(http.StatusUnprocessableEntity, "request.too_deep")
	}
	from := json.NewDecoder(bytes.NewReader(text))
	from.DisallowUnknownFields()
	if err := from.Decode(to); err != nil {
		malformed.Errors = []ProblemPart{{"body", err.Error()}}
		return malformed
	}
	if _, err := from.Token(); !errors.Is(err, io.EOF) {
		malformed.Errors = []ProblemPart{{"body", "something after the object"}}
		return malformed
	}
	return nil
}

// unpack refuses what grows beyond the limit: few packed bytes can hold many.
func unpack(packed []byte, most int64) ([]byte, error) {
	z, err := gzip.NewReader(bufio.NewReader(bytes.NewReader(packed)))
	if err != nil {
		return nil, problem(http.StatusUnprocessableEntity, "request.packed").in("body")
	}
	var body bytes.Buffer
	n, err := io.Copy(&body, io.LimitReader(z, most+1))
	switch {
	case err != nil:
		return nil, problem(http.StatusUnprocessableEntity, "request.packed").in("body")
	case n > most:
		return nil, problem(http.StatusRequestEntityTooLarge, "request.too_large").in("body")
	}
	return body.Bytes(), nil
}

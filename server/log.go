package server

import (
	"context"
	"net/http"

	"sapwell/journal"
	"sapwell/store"
)

type entryOutput struct {
	Body struct {
		Line    string `json:"line" doc:"the entry, byte for byte, without its line feed"`
		Receipt string `json:"receipt" doc:"the receipt of the office, byte for byte"`
		N       int64  `json:"n" doc:"number of the receipt"`
	}
}

type proofInput struct {
	ByID
	Size int64 `query:"size" minimum:"0" doc:"size of the head that the proof is for; left out: all there is"`
}

type proofOutput struct {
	Body struct {
		Line      string         `json:"line" doc:"the entry, byte for byte, without its line feed"`
		Receipt   string         `json:"receipt" doc:"the receipt of the office, byte for byte"`
		N         int64          `json:"n" doc:"number of the receipt: the leaf of the tree"`
		Size      int64          `json:"size" doc:"of the tree"`
		Root      journal.Hash   `json:"root" doc:"of the tree"`
		Inclusion []journal.Hash `json:"inclusion" nullable:"false" doc:"RFC 6962, section 2.1.1"`
	}
}

type headOutput struct {
	Body struct {
		Line string `json:"line" doc:"the signed head, byte for byte"`
	}
}

type consistencyInput struct {
	From int64 `query:"from" minimum:"1" required:"true" doc:"size of the earlier head"`
	To   int64 `query:"to" minimum:"1" required:"true" doc:"size of the later head"`
}

type consistencyOutput struct {
	Body struct {
		From  int64          `json:"from"`
		To    int64          `json:"to"`
		Proof []journal.Hash `json:"proof" nullable:"false" doc:"RFC 6962, section 2.1.2"`
	}
}

// logRoutes show the journal itself to whoever wants to check it.
func (s *Server) logRoutes() {
	route(s, signedIn, at(http.MethodGet, "/api/entries/{id}", "show-entry", "journal", "one entry and its receipt, byte for byte"), s.entry)
	route(s, signedIn, at(http.MethodGet, "/api/entries/{id}/proof", "prove-entry", "journal", "that an entry is in the log"), s.proof)
	route(s, signedIn, at(http.MethodGet, "/api/head", "head", "journal", "the signed head of the log"), s.head)
	route(s, keepers, at(http.MethodGet, "/api/aside", "aside", "journal", "lines that devices sent and that were kept apart"), s.aside)
	route(s, signedIn, at(http.MethodGet, "/api/consistency", "consistency", "journal", "that an earlier head is the beginning of a later one"), s.consistency)
}

func (s *Server) entry(ctx context.Context, c caller, in *ByID) (*entryOutput, error) {
	p, err := prove(ctx, c, in.ID, 0)
	out := new(entryOutput)
	out.Body.Line, out.Body.Receipt, out.Body.N = string(p.Line), string(p.Receipt), p.N
	return out, err
}

func (s *Server) proof(ctx context.Context, c caller, in *proofInput) (*proofOutput, error) {
	p, err := prove(ctx, c, in.ID, in.Size)
	out := new(proofOutput)
	out.Body.Line, out.Body.Receipt, out.Body.N = string(p.Line), string(p.Receipt), p.N
	out.Body.Size, out.Body.Root, out.Body.Inclusion = p.Size, p.Root, append([]journal.Hash{}, p.Inclusion...)
	return out, err
}

func prove(ctx context.Context, c caller, text string, size int64) (store.Proof, error) {
	id, err := idOf(text)
	if err != nil {
		return store.Proof{}, err
	}
	p, err := c.ledger.Proof(ctx, id, 0)
	if err != nil || size == 0 || size == p.Size {
		return p, err
	}
	if size <= p.N || size > p.Size {
		return store.Proof{}, problem(http.StatusUnprocessableEntity, "log.size").in("query.size")
	}
	return c.ledger.Proof(ctx, id, size)
}

// within refuses a size that the log has not come to.
func within(ctx context.Context, c caller, size int64, field string) error {
	now, err := c.ledger.Size(ctx)
	if err == nil && size > now {
		err = problem(http.StatusUnprocessableEntity, "log.size").in(field)
	}
	return err
}

func (s *Server) head(ctx context.Context, c caller, _ *struct{}) (*headOutput, error) {
	signer, err := s.signer(ctx, c.Org)
	if err != nil {
		return nil, err
	}
	line, err := c.ledger.Head(ctx, signer, s.now())
	out := new(headOutput)
	out.Body.Line = string(line)
	return out, err
}

func (s *Server) consistency(ctx context.Context, c caller, in *consistencyInput) (*consistencyOutput, error) {
	if in.From > in.To {
		return nil, problem(http.StatusUnprocessableEntity, "log.size").in("query.from")
	}
	if err := within(ctx, c, in.To, "query.to"); err != nil {
		return nil, err
	}
	proof, err := c.ledger.Consistency(ctx, in.From, in.To)
	out := new(consistencyOutput)
	out.Body.From, out.Body.To, out.Body.Proof = in.From, in.To, append([]journal.Hash{}, proof...)
	return out, err
}

// KeptApart is a line that a device sent and that was not taken into the journal.
type KeptApart struct {
	Device journal.Hash `json:"device"`
	Seq    int64        `json:"seq"`
	Why    string       `json:"why" doc:"unknown, revoked, not_theirs, not_entitled, or after: it follows one that was kept apart"`
	Time   int64        `json:"time" doc:"when it was sent; ms since 1970"`
	Line   string       `json:"line" doc:"the entry, byte for byte"`
}

type asideOutput struct {
	Body struct {
		Lines []KeptApart `json:"lines" nullable:"false"`
	}
}

func (s *Server) aside(ctx context.Context, c caller, _ *struct{}) (*asideOutput, error) {
	all, err := c.ledger.Aside(ctx)
	out := new(asideOutput)
	out.Body.Lines = []KeptApart{}
	for _, a := range all {
		out.Body.Lines = append(out.Body.Lines, KeptApart{a.Device, a.Seq, a.Why, a.Time, string(a.Line)})
	}
	return out, err
}

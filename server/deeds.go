package server

import (
	"context"
	"crypto"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/accounts"
	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/store"
	"sapwell/views"
	"sapwell/words"
)

// mostDeed is how much the input of a deed may be: a list of 10,000 trees is the
// longest.
const mostDeed = 4 << 20

// mostDepth is how deep an input may be nested: as deep as an entry.
const mostDepth = 64

type deedInput struct {
	Key     string `header:"Idempotency-Key" doc:"a new UUID version 7 for each deed, in lower case; with it a request may be sent again, and nothing is done twice"`
	Type    string `header:"Content-Type" hidden:"true"`
	RawBody []byte `contentType:"application/json"`
}

type deedOutput struct {
	Body json.RawMessage
}

// deedAnswer is what came of a deed.
type deedAnswer struct {
	Result   any             `json:"result,omitempty"`
	Entries  []journal.ID    `json:"entries"`
	Findings []words.Finding `json:"findings"`
	Repeated bool            `json:"repeated,omitempty"`
}

// deedRoutes makes one route of every deed.
func (s *Server) deedRoutes() {
	for _, d := range actions.Deeds() {
		op := at(http.MethodPost, "/api/deeds/"+d.Name, strings.ReplaceAll(d.Name, ".", "-"), "deeds", d.Name)
		op.MaxBodyBytes = mostDeed
		op.SkipValidateBody = true // the deed reads its input itself, and more strictly
		s.describeDeed(&op, d)
		route(s, may{roles: d.Who}, op, func(ctx context.Context, c caller, in *deedInput) (*deedOutput, error) {
			return s.deed(ctx, c, d, in)
		})
		s.describeBody(op, map[string]*huma.MediaType{"application/json": {Schema: s.shape(d.Input)}})
	}
}

func (s *Server) describeDeed(op *huma.Operation, d actions.Deed) {
	answer := &huma.Schema{
		Type: huma.TypeObject, Required: []string{"entries", "findings"}, AdditionalProperties: false,
		Properties: map[string]*huma.Schema{
			"result":   s.shape(d.Result),
			"entries":  {Type: huma.TypeArray, Items: s.shape(journal.ID{}), Description: "ids of the entries that were written"},
			"findings": {Type: huma.TypeArray, Items: s.shape(words.Finding{}), Description: "what the person should know"},
			"repeated": {Type: huma.TypeBoolean, Description: "it was done before, by a request with the same key; the result is left out where it is no longer known"},
		},
	}
	op.Responses = map[string]*huma.Response{"200": {
		Description: "done, on the disk and in the views",
		Content:     map[string]*huma.MediaType{"application/json": {Schema: answer}},
	}}
}

// deed has a deed done and its entries written by the office's device. With a key
// it is done once, however often it is asked for: see doneDeeds.
func (s *Server) deed(ctx context.Context, c caller, d actions.Deed, in *deedInput) (*deedOutput, error) {
	key, err := readDeed(in)
	if err != nil {
		return nil, err
	}
	if key == (journal.ID{}) {
		did, err := s.write(ctx, c, d, in.RawBody, func() ids { return s.ids.fresh }, false)
		return s.answerDeed(ctx, did, false, err)
	}
	name := keyName(c.Org, c.Person, key)
	release, err := s.keys.take(ctx, name)
	if err != nil {
		return nil, err
	}
	defer release()
	if did, ok, err := s.done.find(name, d.Name, in.RawBody); ok || err != nil {
		return s.answerDeed(ctx, did, true, err)
	}
	did, err := s.write(ctx, c, d, in.RawBody, func() ids { return derivedIDs(name, key) }, true)
	if err == nil && !did.before {
		s.done.keep(name, did)
	}
	return s.answerDeed(ctx, did, did.before, err)
}

// write does the deed. When guarded, a deed whose first entry stands already is
// not done again.
func (s *Server) write(ctx context.Context, c caller, d actions.Deed, input []byte, chance func() ids, guarded bool) (doneDeed, error) {
	signer, err := s.signer(ctx, c.Org)
	if err != nil {
		return doneDeed{}, err
	}
	did := doneDeed{deed: d.Name, input: sha256.Sum256(input)}
	now := s.now()
	written, err := c.ledger.Write(ctx, signer, now, func(v store.Reader) ([]journal.Draft, error) {
		if guarded {
			did.entries, err = standing(v, chance())
			if did.before = len(did.entries) > 0; err != nil || did.before {
				return nil, err
			}
		}
		zone, err := zoneOf(v, c.Org)
		if err != nil {
			return nil, err
		}
		m := actions.Moment{By: c.Person, Device: deviceOf(signer), Now: now, Zone: zone, KeepAt: records.KeepAt, NewID: chance()}
		outcome, err := d.Do(m, v, input)
		did.result, did.findings = outcome.Result, outcome.Findings
		return outcome.Drafts, err
	})
	for _, e := range written {
		did.entries = append(did.entries, e.ID)
	}
	if len(written) > 0 {
		s.live.nudge(c.Org)
	}
	return did, err
}

// zoneOf is the time zone of an organisation; UTC where its name is not known here.
func zoneOf(v store.Reader, org journal.ID) (*time.Location, error) {
	row, ok, err := v.View(entries.Subject{Kind: entries.OfOrg, ID: org.String()})
	if err != nil || !ok {
		return time.UTC, err
	}
	state, err := views.Read(row)
	if err != nil {
		return time.UTC, err
	}
	if o, is := state.(*views.Org); is {
		if zone, err := time.LoadLocation(o.Facts.Zone); err == nil {
			return zone, nil
		}
	}
	return time.UTC, nil
}

// standing lists the entries that a deed with these ids has written already.
func standing(v store.Reader, next ids) (found []journal.ID, err error) {
	for {
		id, err := next()
		if err != nil {
			return nil, err
		}
		if _, ok, err := v.Entry(id); err != nil || !ok {
			return found, err
		}
		found = append(found, id)
	}
}

// answerDeed prints what came of a deed.
func (s *Server) answerDeed(ctx context.Context, did doneDeed, repeated bool, err error) (*deedOutput, error) {
	if err != nil {
		return nil, err
	}
	text, err := json.Marshal(deedAnswer{
		Result: did.result, Entries: append([]journal.ID{}, did.entries...),
		Findings: s.words.findings(requestOf(ctx).lang, did.findings), Repeated: repeated,
	})
	return &deedOutput{Body: text}, err
}

// readDeed looks at the request before the deed does.
func readDeed(in *deedInput) (key journal.ID, err error) {
	if kind, _, err := mime.ParseMediaType(in.Type); in.Type != "" && (err != nil || kind != "application/json") {
		return key, problem(http.StatusUnsupportedMediaType, "request.other_type").in("header.Content-Type")
	}
	if !utf8.Valid(in.RawBody) { // encoding/json would put other characters in
		return key, problem(http.StatusUnprocessableEntity, "request.malformed").in("body")
	}
	if depth(in.RawBody) > mostDepth {
		return key, problem(http.StatusUnprocessableEntity, "request.too_deep")
	}
	if in.Key == "" {
		return key, nil
	}
	if key.UnmarshalText([]byte(in.Key)) != nil {
		return key, problem(http.StatusUnprocessableEntity, "request.key").in("header.Idempotency-Key")
	}
	return key, nil
}

// depth is how deep a JSON text is nested.
func depth(text []byte) int {
	deepest, now, quoted := 0, 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			now++
			deepest = max(deepest, now)
		case c == '}' || c == ']':
			now--
		}
	}
	return deepest
}

// signer writes for the office of an organisation.
func (s *Server) signer(ctx context.Context, org journal.ID) (crypto.Signer, error) {
	return signerOf(ctx, s.Store, org)
}

func signerOf(ctx context.Context, k accounts.Keeper, org journal.ID) (crypto.Signer, error) {
	key, err := k.KeyOf(ctx, org)
	if errors.Is(err, store.ErrNotFound) || err == nil && len(key.Private) != ed25519.PrivateKeySize {
		return nil, fmt.Errorf("the office of %s has no key to sign with", shortOf(org)) // a fault of ours, not a thing not found
	}
	return ed25519.PrivateKey(key.Private), err
}

func deviceOf(signer crypto.Signer) journal.Hash {
	key, _ := signer.Public().(ed25519.PublicKey)
	return sha256.Sum256(key)
}

// Package pocket answers: what does a phone know, and what can it do, with no signal?
//
// It holds the entries that the phone carries, folded; the key with which the phone
// signs; and the deeds, the computations and the words. One Call, JSON in and JSON
// out: doc/pocket.md lists the calls. Clock and chance come in with the calls, and
// nothing is stored here: the lines of a deed go back to the caller, who keeps them,
// and gives them to an empty Pocket when it starts again.
package pocket

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"time"

	"sapwell/actions"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/words"
)

// Pocket is what one phone knows. It is for one caller at a time.
type Pocket struct {
	calls Calls
	deeds []actions.Deed

	say     *words.Printer
	style   quantity.Style
	ledger  *mem.Ledger
	key     ed25519.PrivateKey // nil: it only looks
	device  journal.Hash
	org     journal.ID
	person  journal.ID
	zone    *time.Location // of the clock on the wall
	ids     maker
	labels  map[string]label.Label // that were read, by the texts of their files
	outcome string                 // "" while all is well, else what broke
}

// Call answers one name. Its error is what a person is told.
type Call func(p *Pocket, input []byte) (any, error)

// Calls are answers by their names.
type Calls map[string]Call

// New makes a phone's Pocket that knows nothing: start it.
func New() *Pocket { return With(actions.FieldDeeds(), nil) }

// With makes a Pocket that does these deeds, and answers more besides its own calls.
func With(deeds []actions.Deed, more Calls) *Pocket {
	p := &Pocket{deeds: deeds, calls: calls(), labels: map[string]label.Label{}}
	maps.Copy(p.calls, more)
	p.reset()
	return p
}

// reset forgets all but language and units.
func (p *Pocket) reset() {
	p.ledger, p.ids = mem.NewLedger(journal.ID{}), maker{}
	p.key, p.device, p.org, p.person = nil, journal.Hash{}, journal.ID{}, journal.ID{}
	if p.say == nil {
		p.say, _ = words.New(words.Languages()[0], quantity.Style{}) // one that there is
	}
}

func calls() Calls {
	return Calls{
		"names": On((*Pocket).names),
		"start": On((*Pocket).start),
		"speak": On((*Pocket).speak),
		"found": On((*Pocket).found),
		"enrol": On((*Pocket).enrol),
		"load":  On((*Pocket).load),
		"offer": On((*Pocket).offer),

		"deed":    On((*Pocket).deed),
		"try":     On((*Pocket).try),
		"row":     On((*Pocket).row),
		"rows":    On((*Pocket).rows),
		"history": On((*Pocket).history),
		"round":   On((*Pocket).round),
		"ring":    On((*Pocket).ring),
		"foresee": On((*Pocket).foresee),
		"asked":   On((*Pocket).asked),

		"label": On((*Pocket).label),
		"proof": On((*Pocket).proof),

		"say":        On((*Pocket).speech),
		"quantity":   On((*Pocket).quantity),
		"quantities": On((*Pocket).quantities),
	}
}

// On makes a call of a function from I to O.
func On[I, O any](do func(*Pocket, I) (O, error)) Call {
	return func(p *Pocket, input []byte) (any, error) {
		var in I
		if err := decode(input, &in); err != nil {
			return nil, err
		}
		return do(p, in)
	}
}

// decode reads one object, strictly.
func decode(input []byte, to any) error {
	from := json.NewDecoder(bytes.NewReader(input))
	from.DisallowUnknownFields()
	err := from.Decode(to)
	if err == nil {
		if _, more := from.Token(); !errors.Is(more, io.EOF) {
			err = errors.New("something after the object")
		}
	}
	if err != nil {
		return refuse("pocket.input", "", err.Error(), why.T("reason", err.Error()))
	}
	return nil
}

// Problem is why something was not done.
type Problem struct {
	Code  string `json:"code"`
	Field string `json:"field,omitempty"`
	Text  string `json:"text"` // in the language of the person
}

// answer is what a call comes to: one of the two.
type answer struct {
	OK    any      `json:"ok,omitempty"`
	Error *Problem `json:"error,omitempty"`
}

// Call answers a call. It never panics: after a fault of ours every call but start
// is refused, since what is held may be half of something.
func (p *Pocket) Call(name string, input []byte) (out []byte) {
	defer func() {
		if broke := recover(); broke != nil {
			p.outcome = fmt.Sprint(broke)
			out = p.print(nil, p.broken())
		}
	}()
	do, ok := p.calls[name]
	switch {
	case !ok:
		return p.print(nil, refuse("pocket.no_call", "name", fmt.Sprintf("there is no call %q", name), why.T("name", name)))
	case p.outcome != "" && name != "start":
		return p.print(nil, p.broken())
	}
	return p.print(do(p, input))
}

func (p *Pocket) broken() error {
	return refuse("pocket.broken", "", "Sapwell made a mistake: "+p.outcome, why.T("reason", p.outcome))
}

// print writes an answer.
func (p *Pocket) print(result any, err error) []byte {
	a := answer{OK: result}
	if err != nil {
		a = answer{Error: p.problem(err)}
	}
	text, err := json.Marshal(a)
	if err != nil {
		panic(err) // our own types; a fault that Call makes a Problem of
	}
	return text
}

// Printer says things as the person reads them: it changes with the language.
func (p *Pocket) Printer() *words.Printer { return p.say }

// refuse makes a refusal of the pocket's own.
func refuse(code, field, text string, terms ...why.Term) error {
	return &actions.Refusal{Code: code, Field: field, Text: text, Terms: terms}
}

// problem says why something was not done.
func (p *Pocket) problem(err error) *Problem {
	if r, ok := errors.AsType[*actions.Refusal](err); ok {
		return &Problem{r.Code, r.Field, p.say.Refusal(r.Code, r.Field, r.Text, r.Terms...)}
	}
	if m, ok := errors.AsType[*quantity.ParseError](err); ok {
		return &Problem{"quantity.unread", "text", p.say.Say("refusal.quantity.unread", why.T("value", m.Text), why.T("accepted", m.Want))}
	}
	return &Problem{Code: "pocket.fault", Text: err.Error()}
}

// read looks at one moment of what is carried.
func (p *Pocket) read(look func(store.Reader) error) error {
	return p.ledger.Read(context.Background(), look)
}

// maker makes ids that grow, also where the clock was set back.
type maker struct {
	chance io.Reader
	last   journal.ID
}

func (m *maker) next(now int64) (journal.ID, error) {
	var random [10]byte
	if m.chance == nil {
		return journal.ID{}, errNotStarted
	}
	if _, err := io.ReadFull(m.chance, random[:]); err != nil {
		return journal.ID{}, err
	}
	id, err := journal.NewID(m.last, now, random)
	if err == nil {
		m.last = id
	}
	return id, err
}

var errNotStarted = refuse("pocket.not_started", "", "start first")

// subject is one thing that rows tell of.
type subject struct {
	Kind entries.SubjectKind `json:"kind"`
	ID   string              `json:"id"`
}

func (s subject) wire() entries.Subject { return entries.Subject{Kind: s.Kind, ID: s.ID} }

var errLooksOnly = refuse("pocket.looks_only", "", "this device has no key and nobody: it can only look")

// writes says whether deeds can be done.
func (p *Pocket) writes() error {
	if p.ids.chance == nil {
		return errNotStarted
	}
	if p.key == nil || p.person == (journal.ID{}) {
		return errLooksOnly
	}
	return nil
}

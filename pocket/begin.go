package pocket

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"math/rand/v2"
	"slices"
	"time"

	"sapwell/accounts"
	"sapwell/actions"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store/mem"
	"sapwell/words"
)

type nothing struct{}

type named struct {
	Name string         `json:"name"`
	Who  []entries.Role `json:"who,omitempty"`
}

type nameList struct {
	Calls []string `json:"calls"`
	Deeds []named  `json:"deeds"`
	Langs []string `json:"langs"`
}

// names lists what there is to call, and who may do which deed.
func (p *Pocket) names(nothing) (nameList, error) {
	list := nameList{Langs: words.Languages()}
	for name := range p.calls {
		list.Calls = append(list.Calls, name)
	}
	slices.Sort(list.Calls)
	for _, d := range p.deeds {
		list.Deeds = append(list.Deeds, named{Name: d.Name, Who: d.Who})
	}
	return list, nil
}

// speakInput is how a person is spoken with.
type speakInput struct {
	Lang         string          `json:"lang"`
	Units        quantity.System `json:"units"`
	DecimalComma bool            `json:"decimal_comma,omitempty"`
}

// speak changes language and units.
func (p *Pocket) speak(in speakInput) (nothing, error) {
	style := quantity.Style{System: in.Units, DecimalComma: in.DecimalComma}
	say, err := words.New(in.Lang, style)
	if err != nil {
		return nothing{}, refuse("input.value", "lang", "lang: "+err.Error(), why.T("value", in.Lang), why.T("accepted", words.Languages()))
	}
	p.say, p.style = say, style
	return nothing{}, nil
}

type startInput struct {
	speakInput
	Chance []byte     `json:"chance"`          // 32 bytes that nobody can guess, new for every start
	Seed   []byte     `json:"seed,omitempty"`  // 32 bytes: the device's private key; left out: it only looks
	Org    journal.ID `json:"org,omitzero"`    // whose journal it is
	Person journal.ID `json:"person,omitzero"` // who holds the device
	// Offset is how far the clock on the wall is ahead of UTC, in minutes: which day
	// it is hangs on it.
	Offset int `json:"offset_minutes,omitempty"`
}

type started struct {
	Device string `json:"device,omitempty"` // SHA-256 of the public key
	Key    string `json:"key,omitempty"`    // the public key, hex
}

// start forgets all that was held, and says who the device is.
func (p *Pocket) start(in startInput) (started, error) {
	if len(in.Chance) != 32 || in.Seed != nil && len(in.Seed) != ed25519.SeedSize {
		return started{}, refuse("pocket.bytes", "chance", "chance, seed: want 32 bytes each, as base64")
	}
	if _, err := p.speak(in.speakInput); err != nil {
		return started{}, err
	}
	p.reset()
	p.outcome = ""
	p.ids.chance = rand.NewChaCha8([32]byte(in.Chance))
	p.org, p.person = in.Org, in.Person
	p.zone = time.FixedZone("", in.Offset*60)
	p.ledger = mem.NewLedger(p.org)
	if in.Seed == nil {
		return started{}, nil
	}
	p.key = ed25519.NewKeyFromSeed(in.Seed)
	var err error
	p.device, err = journal.DeviceOf(p.key)
	return started{p.device.String(), hex.EncodeToString(p.public())}, err
}

func (p *Pocket) public() ed25519.PublicKey {
	key, _ := p.key.Public().(ed25519.PublicKey)
	return key
}

type enrolInput struct {
	Secret string `json:"secret"` // of the invite
	Name   string `json:"name"`   // what people will call the device
}

// enrolment is what is sent to POST /enrol.
type enrolment struct {
	Secret    string `json:"secret"`
	Key       string `json:"key"`
	Signature string `json:"signature"`
	Name      string `json:"name"`
}

// enrol shows to an office that the device holds its key.
func (p *Pocket) enrol(in enrolInput) (enrolment, error) {
	if p.key == nil {
		return enrolment{}, errLooksOnly
	}
	key := p.public()
	return enrolment{
		Secret: in.Secret, Name: in.Name, Key: hex.EncodeToString(key),
		Signature: hex.EncodeToString(ed25519.Sign(p.key, accounts.EnrolMessage(in.Secret, key))),
	}, nil
}

type foundInput struct {
	actions.FoundInput
	Now int64 `json:"now"`
}

type founded struct {
	Org    journal.ID `json:"org"`
	Person journal.ID `json:"person"`
	Lines  []Kept     `json:"lines"`
}

// found begins an organisation on a device that has no office: it is its own.
func (p *Pocket) found(in foundInput) (founded, error) {
	switch {
	case p.ids.chance == nil:
		return founded{}, errNotStarted
	case p.key == nil:
		return founded{}, errLooksOnly
	case p.org != (journal.ID{}):
		return founded{}, refuse("pocket.founded", "", "there is an organisation here already")
	}
	made, err := actions.Found(p.moment(in.Now), in.FoundInput)
	if err != nil {
		return founded{}, err
	}
	lines, err := p.write(made.Drafts)
	if err != nil {
		return founded{}, err
	}
	p.org, p.person = made.Org, made.Person
	return founded{made.Org, made.Person, lines}, nil
}

// Kept is an entry as the phone keeps it, and as an office lends it: the line, and
// the time of its place in the order of folding.
type Kept struct {
	Line string `json:"line"`
	Time int64  `json:"time"`
}

type loadInput struct {
	Lines []Kept `json:"lines"`
}

type loaded struct {
	Own     int64    `json:"own"` // number of the last entry that this device wrote
	Refused []faulty `json:"refused"`
}

type faulty struct {
	N   int    `json:"n"` // from 1
	Why string `json:"why"`
}

// load takes lines: those that the device wrote, which it goes on from, and those
// that were lent to it. Their order does not matter, and what is there already is
// passed over.
func (p *Pocket) load(in loadInput) (loaded, error) {
	lent := make([]mem.Lent, len(in.Lines))
	for i, l := range in.Lines {
		lent[i] = mem.Lent{Line: []byte(l.Line), Time: l.Time}
	}
	faults, err := p.ledger.Lend(context.Background(), lent)
	if err != nil {
		return loaded{}, err
	}
	done := loaded{Refused: []faulty{}}
	for _, f := range faults {
		done.Refused = append(done.Refused, faulty{f.Line, f.Reason.Error()})
	}
	tip := p.ledger.Last(p.device)
	done.Own = tip.Seq
	if bytes.Compare(p.ids.last[:], tip.ID[:]) < 0 {
		p.ids.last = tip.ID // ids grow over a restart, though the clock was set back
	}
	return done, nil
}

type offered struct {
	Offer []journal.Known `json:"offer"`
}

// offer says how far the device has written: that is what an office must know to
// take the lines that follow.
func (p *Pocket) offer(nothing) (offered, error) {
	tip := p.ledger.Last(p.device)
	if tip.Seq == 0 {
		return offered{[]journal.Known{}}, nil
	}
	return offered{[]journal.Known{{Device: tip.Device, Hash: tip.Hash(), Seq: tip.Seq}}}, nil
}

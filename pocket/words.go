package pocket

import (
	"encoding/json"
	"fmt"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/words"
)

type speechInput struct {
	Findings []why.Finding `json:"findings,omitempty"`
	Reason   *why.Reason   `json:"reason,omitempty"`
	Keys     []keyed       `json:"keys,omitempty"`
}

// keyed is a sentence of the catalogue with what fills its blanks.
type keyed struct {
	Key   string     `json:"key"`
	Terms []why.Term `json:"terms,omitempty"`
}

type said struct {
	Findings []words.Finding `json:"findings"`
	Reason   []string        `json:"reason"` // a line each, indented by two spaces a step
	Keys     []string        `json:"keys"`
}

// speech says what was computed elsewhere or earlier: measures that were written as
// objects are said in the units of whoever reads.
func (p *Pocket) speech(in speechInput) (said, error) {
	out := said{Reason: []string{}, Keys: []string{}}
	for i := range in.Findings {
		why.Revive(in.Findings[i].Terms)
	}
	out.Findings = p.say.Findings(in.Findings)
	if in.Reason != nil {
		reviveReason(in.Reason)
		out.Reason = p.say.Reason(*in.Reason)
	}
	for _, k := range in.Keys {
		why.Revive(k.Terms)
		out.Keys = append(out.Keys, p.say.Say(k.Key, k.Terms...))
	}
	return out, nil
}

func reviveReason(r *why.Reason) {
	r.Result.Value, r.Low, r.High = why.Alive(r.Result.Value), why.Alive(r.Low), why.Alive(r.High)
	why.Revive(r.Inputs)
	for i := range r.Because {
		reviveReason(&r.Because[i])
	}
}

type quantityInput struct {
	Text string `json:"text,omitempty"`
	Kind string `json:"kind,omitempty"` // of the text: length, volume, mass, time, pressure, temperature, angle
	Bare string `json:"bare,omitempty"` // unit of a number without one
	Made any    `json:"made,omitempty"` // in place of a text: a measure as deeds and computations have it
	Tape bool   `json:"tape,omitempty"` // what was made is a place on the tape: it is said as the tape shows it
}

type measure struct {
	Value json.RawMessage `json:"value"`           // as deeds and computations take it
	Said  string          `json:"said"`            // in the units of whoever reads
	Whole *int64          `json:"whole,omitempty"` // as entries keep it: nm, nL
}

type measureList struct {
	List []measure `json:"list"`
}

// quantities reads several measures, as a screen has them: all, or none and why.
func (p *Pocket) quantities(in struct {
	List []quantityInput `json:"list"`
}) (out measureList, err error) {
	out.List = make([]measure, len(in.List))
	for i, q := range in.List {
		if out.List[i], err = p.quantity(q); err != nil {
			return measureList{}, err
		}
	}
	return out, nil
}

// quantity reads a measure as a person writes or says it, or says one that was made.
func (p *Pocket) quantity(in quantityInput) (measure, error) {
	if in.Made != nil {
		of := why.Alive(in.Made)
		text, err := json.Marshal(of)
		said := p.say.Value(of)
		if l, is := of.(quantity.Length); is && in.Tape {
			said = l.Tape(p.style)
		}
		return measure{Value: text, Said: said}, err
	}
	reading := quantity.Reading{DecimalComma: p.style.DecimalComma, Bare: in.Bare}
	var of any
	var err error
	var whole *int64
	switch in.Kind {
	case "length":
		var l quantity.Length
		l, err = quantity.ParseLength(in.Text, reading)
		of, whole = l, (*int64)(&l)
	case "volume":
		var v quantity.Volume
		v, err = quantity.ParseVolume(in.Text, reading)
		of, whole = v, (*int64)(&v)
	case "mass":
		of, err = quantity.ParseMass(in.Text, reading)
	case "time":
		of, err = quantity.ParseSpan(in.Text, reading)
	case "pressure":
		of, err = quantity.ParsePressure(in.Text, reading)
	case "temperature":
		of, err = quantity.ParseTemperature(in.Text, reading)
	case "angle":
		of, err = quantity.ParseAngle(in.Text, reading)
	default:
		err = refuse("pocket.no_kind", "kind", fmt.Sprintf("there is no kind of measure %q", in.Kind), why.T("kind", in.Kind))
	}
	if err != nil {
		return measure{}, err
	}
	text, err := json.Marshal(of)
	return measure{text, p.say.Value(of), whole}, err
}

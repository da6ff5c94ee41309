package calc

import (
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/verdict"
	"sapwell/engine/why"
)

// emptyIn is a unit that is to be thrown away. What is left is told by weight or by
// volume, both of it and of a full unit.
type emptyIn struct {
	Content   quantity.Mass    `json:"content" help:"what a full unit holds, by weight"`
	Residue   *quantity.Mass   `json:"residue" help:"what is left, by weight"`
	Most      *quantity.Mass   `json:"residue_most" help:"what is left at most, where that is a range"`
	Fill      quantity.Volume  `json:"fill" help:"what a full unit holds, by volume"`
	Left      *quantity.Volume `json:"left" help:"what is left, by volume"`
	LeftMost  *quantity.Volume `json:"left_most" help:"what is left at most, where that is a range"`
	Depth     *quantity.Length `json:"depth" help:"of what stands on the bottom"`
	Taken     verdict.Answer   `json:"all_removable_out" help:"all that common practice takes out is out"`
	Hazardous verdict.Answer   `json:"hazardous" help:"the residue would be a hazardous waste"`
	Acute     verdict.Answer   `json:"acute" help:"an acute one"`
	Pressed   verdict.Answer   `json:"under_pressure"`
}

type emptyOut struct {
	Emptiness stock.Emptiness `json:"emptiness"`
	Least     *float64        `json:"residue_percent_least,omitempty"`
	Most      *float64        `json:"residue_percent_most,omitempty"`
	Why       why.Reason      `json:"why"`
}

func empty(in emptyIn) (emptyOut, error) {
	u := stock.Unit{Depth: in.Depth, Taken: known(in.Taken), Hazardous: known(in.Hazardous), Acute: known(in.Acute), Pressed: known(in.Pressed)}
	var err error
	switch {
	case in.Residue != nil && in.Left != nil:
		return emptyOut{}, &FieldError{Path: "left", Want: "stands beside residue; give what is left by weight or by volume"}
	case in.Residue != nil:
		u.Residue, err = residue("residue", "content", int64(*in.Residue), in.Most, int64(in.Content))
	case in.Left != nil:
		u.Residue, err = residue("left", "fill", int64(*in.Left), in.LeftMost, int64(in.Fill))
	}
	if err != nil {
		return emptyOut{}, err
	}
	out := emptyOut{Emptiness: u.Empty(), Why: u.Why()}
	if low, ok := out.Why.Low.(float64); ok {
		high := out.Why.High.(float64)
		out.Least, out.Most = &low, &high
	}
	return out, nil
}

// residue makes a range of what is left; without a most it is one figure.
func residue[Q ~int64](field, content string, least int64, most *Q, of int64) (*stock.Residue, error) {
	r := stock.Residue{Low: least, High: least, Of: of}
	if most != nil {
		r.High = int64(*most)
	}
	switch {
	case r.Of <= 0:
		return nil, &FieldError{Path: content, Want: "missing; what is left is a share of it"}
	case r.Low < 0 || r.High < r.Low:
		return nil, &FieldError{Path: field, Want: "want 0 or more, and at most what is left at most"}
	}
	return &r, nil
}

// known is an answer as the engine's stock takes it.
func known(a verdict.Answer) *bool {
	if a == verdict.Unknown {
		return nil
	}
	yes := a == verdict.Yes
	return &yes
}

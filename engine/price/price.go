// Package price answers: what does the work cost the client?
//
// It applies a firm's own price list to what was planned and does nothing else:
// it knows no market and suggests no price. All money is whole cents. A girth
// is counted in whole steps first, so every line is a count times a price and
// no line is rounded; the tax alone is, once, on the sum. So the lines on paper
// add up to the total on paper, to the cent.
package price

import (
	"fmt"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
)

// List is what a firm asks, before tax. A price of 0 is not asked.
type List struct {
	PerTree Cents           `json:"per_tree_cents,omitempty"`
	PerUnit Cents           `json:"per_unit_cents,omitempty"`
	PerStep Cents           `json:"per_step_cents,omitempty"` // for each Step of girth
	Step    quantity.Length `json:"step,omitempty"`           // such as 1 cm or 1 in
	// Steps says how a girth between two steps is counted. There is no default:
	// a price list that does not say it is no price list by girth.
	Steps   Rounding    `json:"steps,omitempty"`
	Minimum Cents       `json:"minimum_cents,omitempty"` // of the trees together, without options
	Tax     BasisPoints `json:"tax_basis_points,omitempty"`
}

// Rounding is how a part of a step counts.
type Rounding string

// The roundings. Nearest takes a half for a whole.
const (
	Up      Rounding = "up"
	Down    Rounding = "down"
	Nearest Rounding = "nearest"
)

// Tree is what is planned for one tree: units, and girth outside bark at the
// height of the holes, the girths of several stems added up. A tree that gets several
// products is one tree still: what is asked for a tree and for its girth is asked
// once, and Shares says how its units divide.
type Tree struct {
	Name   string          `json:"name"`
	Units  int             `json:"units"`
	Girth  quantity.Length `json:"girth"`
	Shares []Share         `json:"shares,omitempty"` // together all units; empty: of one product
}

// Share is the units of one product that a tree gets.
type Share struct {
	Product string `json:"product"`
	Units   int    `json:"units"`
}

// Option is something more that the client may have, at a price of its own.
type Option struct {
	Name     string `json:"name"`
	Price    Cents  `json:"price_cents"`
	Accepted bool   `json:"accepted"`
}

// Kind is what a line is for.
type Kind string

// The kinds of line.
const (
	ForTree    Kind = "tree"
	ForUnits   Kind = "units"
	ForGirth   Kind = "girth"
	ForMinimum Kind = "minimum" // what is missing to the minimum
	ForOption  Kind = "option"
)

// Line is one line of a quote: Amount is Count times Each.
type Line struct {
	Kind   Kind       `json:"kind"`
	For    string     `json:"for,omitempty"` // the tree's or the option's name
	Of     string     `json:"of,omitempty"`  // the product, of a tree that gets several
	Count  int64      `json:"count"`         // trees, units, or steps of girth
	Each   Cents      `json:"each_cents"`
	Amount Cents      `json:"amount_cents"`
	Why    why.Reason `json:"why"`
}

// Quote is what the work comes to. Net is the sum of Lines, Due is Net and Tax.
type Quote struct {
	Lines   []Line      `json:"lines"`
	Offered []Line      `json:"offered,omitempty"` // options not accepted: in no sum
	Net     Cents       `json:"net_cents"`
	Rate    BasisPoints `json:"tax_basis_points"`
	Tax     Cents       `json:"tax_cents"`
	Due     Cents       `json:"due_cents"`
	Why     why.Reason  `json:"why"`
}

// Compute prices trees and options by a list. The minimum holds for the trees
// together and only where there is one; options come on top of it, and the tax
// on all.
//
// An error names the field, the value, and what would be accepted. A tree whose
// units or girth the list asks and nobody knows is an error: measure and plan
// first.
func Compute(l List, trees []Tree, options []Option) (Quote, error) {
	if err := check(l, trees, options); err != nil {
		return Quote{}, err
	}
	q := Quote{Rate: l.Tax}
	for _, t := range trees {
		for _, line := range l.lines(t) {
			q.add(line)
		}
	}
	if short := l.Minimum - q.Net; len(trees) > 0 && short > 0 {
		q.add(l.toMinimum(q.Net, short))
	}
	for _, o := range options {
		if line := o.line(); o.Accepted {
			q.add(line)
		} else {
			q.Offered = append(q.Offered, line)
		}
	}
	q.tax()
	return q, nil
}

func (q *Quote) add(l Line) {
	q.Lines = append(q.Lines, l)
	q.Net += l.Amount
}

// lines are what one tree costs.
func (l List) lines(t Tree) []Line {
	var ls []Line
	if l.PerTree > 0 {
		ls = append(ls, line(ForTree, t.Name, 1, l.PerTree, "price.tree"))
	}
	for _, s := range t.shares() {
		if l.PerUnit > 0 {
			units := line(ForUnits, t.Name, int64(s.Units), l.PerUnit, "price.units", why.T("units", s.Units))
			units.Of = s.Product
			ls = append(ls, units)
		}
	}
	if l.PerStep > 0 {
		n := l.Steps.count(t.Girth, l.Step)
		g := line(ForGirth, t.Name, n, l.PerStep, "price.girth", why.T("steps", int(n)))
		g.Why.Because = []why.Reason{{
			Rule: "price.steps", Result: why.T("steps", int(n)), Rounding: string(l.Steps),
			Inputs: []why.Term{why.T("girth", t.Girth), why.T("step", l.Step)},
		}}
		ls = append(ls, g)
	}
	return ls
}

// shares are the units of a tree by product; where nobody told them apart, all of them.
func (t Tree) shares() []Share {
	if len(t.Shares) == 0 {
		return []Share{{Units: t.Units}}
	}
	return t.Shares
}

func line(kind Kind, name string, count int64, each Cents, rule string, counted ...why.Term) Line {
	amount := Cents(count) * each
	return Line{Kind: kind, For: name, Count: count, Each: each, Amount: amount, Why: why.Reason{
		Rule: rule, Result: why.T("amount", amount), Inputs: append(counted, why.T("price", each)),
	}}
}

func (l List) toMinimum(net, short Cents) Line {
	n := line(ForMinimum, "", 1, short, "price.minimum")
	n.Why.Inputs = []why.Term{why.T("minimum", l.Minimum), why.T("net", net)}
	return n
}

func (o Option) line() Line { return line(ForOption, o.Name, 1, o.Price, "price.option") }

// count is how many steps a girth comes to. It is exact: both are whole
// nanometres.
func (r Rounding) count(girth, step quantity.Length) int64 {
	n, rest := int64(girth/step), girth%step
	if r == Up && rest > 0 || r == Nearest && rest >= step-rest {
		n++
	}
	return n
}

// tax rounds once, on the sum, halves upward: amounts are never below zero.
func (q *Quote) tax() {
	q.Tax = q.Rate.of(q.Net)
	q.Due = q.Net + q.Tax
	q.Why = why.Reason{
		Rule: "price.due", Result: why.T("due", q.Due), Inputs: []why.Term{why.T("net", q.Net), why.T("tax", q.Tax)},
		Because: []why.Reason{{
			Rule: "price.tax", Result: why.T("tax", q.Tax), Rounding: string(Nearest), Source: why.Own,
			Inputs: []why.Term{why.T("net", q.Net), why.T("tax_rate", q.Rate)},
		}},
	}
}

// of is the share of an amount, to the nearest cent. The amount is split so
// that no product leaves an int64, whatever check lets through.
func (b BasisPoints) of(c Cents) Cents {
	const whole = 10_000
	return c/whole*Cents(b) + (c%whole*Cents(b)+whole/2)/whole
}

// The most that is accepted. With these, no sum of a quote can leave an int64:
// 100,000 trees at 1e8 + 1e8 × 1e4 + 1e8 × 1e5 cents each, with a thousand
// options and as much tax again, are below 2.3e18.
const (
	mostPrice   Cents           = 100_000_000 // a million, of any currency of hundredths
	mostTrees                   = 100_000
	mostUnits                   = 10_000
	mostOptions                 = 1_000
	mostGirth   quantity.Length = 100 * quantity.Metre
	leastStep   quantity.Length = quantity.Millimetre
	mostTax     BasisPoints     = 10_000
)

func check(l List, trees []Tree, options []Option) error {
	if err := l.check(); err != nil {
		return err
	}
	if len(trees) > mostTrees || len(options) > mostOptions {
		return fmt.Errorf("%d trees and %d options: want at most %d and %d", len(trees), len(options), mostTrees, mostOptions)
	}
	for i, t := range trees {
		if l.PerUnit > 0 && (t.Units < 1 || t.Units > mostUnits) {
			return fmt.Errorf("trees[%d] (%.40q): %d units, and the list has a price per unit: want 1 to %d", i, t.Name, t.Units, mostUnits)
		}
		sum := 0
		for _, s := range t.shares() {
			sum += s.Units
			if l.PerUnit > 0 && (s.Units < 1 || s.Units > mostUnits) {
				return fmt.Errorf("trees[%d] (%.40q).shares (%.40q): %d units: want 1 to %d", i, t.Name, s.Product, s.Units, mostUnits)
			}
		}
		if sum != t.Units {
			return fmt.Errorf("trees[%d] (%.40q).shares: %d units together: want %d, as the tree has", i, t.Name, sum, t.Units)
		}
		if l.PerStep > 0 && (t.Girth <= 0 || t.Girth > mostGirth) {
			return fmt.Errorf("trees[%d] (%.40q): girth of %d nm, and the list has a price by girth: want more than 0, up to 100 m", i, t.Name, t.Girth)
		}
	}
	for i, o := range options {
		if o.Price < 0 || o.Price > mostPrice {
			return fmt.Errorf("options[%d] (%.40q): price of %d cents: want 0 to %d", i, o.Name, o.Price, mostPrice)
		}
	}
	return nil
}

func (l List) check() error {
	for _, p := range []struct {
		name  string
		cents Cents
	}{{"per_tree", l.PerTree}, {"per_unit", l.PerUnit}, {"per_step", l.PerStep}, {"minimum", l.Minimum}} {
		if p.cents < 0 || p.cents > mostPrice {
			return fmt.Errorf("%s: %d cents: want 0 to %d", p.name, p.cents, mostPrice)
		}
	}
	switch {
	case l.PerTree+l.PerUnit+l.PerStep+l.Minimum == 0:
		return fmt.Errorf("price list: no price: want at least one of per_tree, per_unit, per_step, minimum")
	case l.Tax < 0 || l.Tax > mostTax:
		return fmt.Errorf("tax: %d basis points: want 0 to %d", l.Tax, mostTax)
	case l.PerStep == 0:
		return nil
	case l.Step < leastStep || l.Step > mostGirth:
		return fmt.Errorf("step: %d nm of girth: want 1 mm to 100 m, such as 1 cm", l.Step)
	case l.Steps != Up && l.Steps != Down && l.Steps != Nearest:
		return fmt.Errorf("steps: %q does not say how a part of a step counts: want %q, %q or %q", l.Steps, Up, Down, Nearest)
	}
	return nil
}

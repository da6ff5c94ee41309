package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"sapwell/actions"
	"sapwell/documents"
	"sapwell/engine/label"
	"sapwell/engine/quantity"
	"sapwell/engine/stock"
	"sapwell/engine/why"
)

// markSheets writes a sheet a stem, and for a tree that is left alone the one
// page that says why.
func (d *day) markSheets(out io.Writer) error {
	picks := d.allocate()
	var sheets []documents.Sheet
	for _, p := range d.kept {
		stems := p.Stems
		if !p.Go() {
			stems = stems[:1]
		}
		for i := range stems {
			sheets = append(sheets, d.sheet(p, i, picks))
		}
	}
	if len(sheets) > mostSheets {
		return refused{errors.New(d.w.say.Say("plan.many_sheets", count("n", len(sheets)), count("most", mostSheets)))}
	}
	return documents.MarkSheets(out, sheets, d.w.say, d.paper)
}

// mostSheets is how many go into one file: the sheets are held until they are
// written, and nobody finds one among more (own convention).
const mostSheets = 1000

// allocate hands the lots to the trees in the order of the list.
func (d *day) allocate() stock.Allocation {
	if len(d.lots) == 0 {
		return stock.Allocation{}
	}
	storage := map[string]label.Storage{}
	for _, l := range d.labels {
		storage[l.ID] = l.Storage
	}
	return stock.Allocate(d.lots, d.needs, storage, d.date)
}

// sheet puts stem i on paper.
func (d *day) sheet(p planned, i int, a stock.Allocation) documents.Sheet {
	l, s := p.label, p.Stems[i]
	sheet := documents.Sheet{
		Tag: p.Tag, Stem: s.Name, Site: p.row.Site, Date: d.date,
		Scientific: p.row.Tree.Species.Scientific, Common: p.row.Tree.Species.Common,
		Product: l.Product.Name, Fictional: l.Fictional, LabelVersion: l.Version.String(),
		Active: d.active(l), PPE: l.People.PPE, REI: l.People.REI,
		Units: s.Dose.Units, PerUnit: s.Dose.PerUnit, Total: s.Dose.Total,
		Bit: l.Hole.Bit, Angle: l.Hole.Angle, Near: d.near(s),
		Findings: d.onSheet(p.Plan, i), Open: ofStem(p.Opinion.Open, i),
	}
	for _, f := range s.Dose.Fills {
		sheet.Fills = append(sheet.Fills, documents.FillUse(f))
	}
	for _, pick := range a.Picks {
		if pick.For == p.StemTag(s) {
			sheet.Lots = append(sheet.Lots, documents.LotUse{Lot: pick.Lot, Units: pick.Units})
		}
	}
	for _, n := range a.Short {
		if n.For == p.StemTag(s) {
			sheet.NoLot += n.Units
		}
	}
	if m := s.Marks; m != nil {
		sheet.Ring, sheet.Positions, sheet.Raise = m.Ring, m.Positions, m.Raise
		for _, b := range m.Blocked {
			sheet.Blocked = append(sheet.Blocked, documents.Arc{From: b.From, To: b.To, Kind: b.Kind})
		}
	}
	if b := s.Bore; b != nil {
		sheet.Stop, sheet.WoodDepth, sheet.BarkMeasured = b.Stop, b.Wood.Likely, b.Measured
		sheet.StopLow, sheet.StopHigh = b.StopRange.Low, b.StopRange.High
		if !b.Measured || b.StopRange.Low != b.StopRange.High {
			for _, p := range b.Probe {
				sheet.Probe = append(sheet.Probe, documents.ProbeStop(p))
			}
		}
	}
	if u := s.Unit; u != nil {
		sheet.P50, sheet.P90, sheet.ForecastN = u.Forecast.P50, u.Forecast.P90, u.Forecast.N
		if g := u.Gas; g != nil {
			sheet.Gauge = &documents.Gauge{Full: g.Steps[0].Gauge, Half: g.Steps[2].Gauge, Empty: g.Steps[4].Gauge}
		}
	}
	return sheet
}

// onSheet are the findings of stem i's sheet. A tree that is left alone has one
// sheet, and what stops it stands there whichever stem it was found on.
func (d *day) onSheet(p actions.Plan, i int) []why.Finding {
	if !p.Go() {
		return graveOnly(p)
	}
	return ofStem(slices.Concat(p.Opinion.Findings, notes(p)), i)
}

// ofStem leaves out what was found on another stem.
func ofStem(fs []why.Finding, i int) []why.Finding {
	here := fmt.Sprintf("stems[%d]", i)
	return slices.DeleteFunc(slices.Clone(fs), func(f why.Finding) bool {
		stem, _, _ := strings.Cut(f.Place, ".")
		return strings.HasPrefix(stem, "stems[") && stem != here
	})
}

// notes are those for the crew: what the sheet shows of drain, drill and marks
// needs no sentence, and what there is to note of the dose is for whoever plans.
func notes(p actions.Plan) []why.Finding {
	return slices.DeleteFunc(slices.Clone(p.Opinion.Notes), func(f why.Finding) bool {
		area, _, _ := strings.Cut(f.Code, ".")
		return slices.Contains([]string{"drain", "bore", "marks", "dose"}, area)
	})
}

// graveOnly leaves out what no longer matters once a tree is left alone.
func graveOnly(p actions.Plan) []why.Finding {
	if p.Go() {
		return p.Opinion.Findings
	}
	return slices.DeleteFunc(slices.Clone(p.Opinion.Findings), func(f why.Finding) bool { return f.Severity != why.Block })
}

func (d *day) active(l label.Label) string {
	var list []string
	for _, i := range l.Class.Ingredients {
		list = append(list, i.Name+" "+i.Content.Text(d.w.say.Style))
	}
	return strings.Join(list, ", ")
}

// near says whether the doubt of the tape changes the count.
func (d *day) near(s actions.StemPlan) string {
	n := s.Dose.Nearness
	if s.Dose.Units == 0 || n.UnitsLow == s.Dose.Units && n.UnitsHigh == s.Dose.Units {
		return ""
	}
	return d.w.say.Say("plan.near", why.T("tape", n.Tape), why.T("low", n.UnitsLow), why.T("high", n.UnitsHigh))
}

// loadOut writes what goes on the truck.
func (d *day) loadOut(out io.Writer) error {
	a := d.allocate()
	list := documents.LoadOut{Date: d.date, Title: filepath.Base(d.list), Lots: d.loadLots(a), PPE: d.ppe()}
	for _, n := range a.Short {
		list.Short = append(list.Short, d.w.say.Say("plan.short", why.T("units", n.Units), why.T("size", n.Size), why.T("tag", n.For)))
	}
	for _, f := range a.Findings {
		if f.Severity == why.Block {
			sentence, _ := d.w.say.Finding(f)
			list.Short = append(list.Short, sentence)
		}
	}
	units, stops := 0, map[documents.StopCount]int{}
	for _, p := range d.kept {
		if !p.Go() {
			continue
		}
		list.Trees++
		for _, s := range p.Stems {
			units += s.Dose.Units
			if s.Bore != nil && s.Bore.Stop > 0 {
				stops[documents.StopCount{Bit: p.label.Hole.Bit, Stop: s.Bore.Stop}]++
			}
		}
	}
	for _, key := range slices.SortedFunc(maps.Keys(stops), byStop) {
		n := stops[key]
		key.Stems = n
		list.Stops = append(list.Stops, key)
	}
	list.Items = append(d.smallThings(units), documents.Kit()...)
	return documents.LoadOutList(out, list, d.w.say, d.paper)
}

func byStop(a, b documents.StopCount) int {
	return cmp.Or(cmp.Compare(a.Bit, b.Bit), cmp.Compare(a.Stop, b.Stop))
}

// spare is one in ten, and one at least: common practice, no source.
func spare(n int) int { return (n + 9) / 10 }

// holesPerBit is when a small bit wants changing (own convention).
const holesPerBit = 100

func (d *day) smallThings(units int) []documents.Item {
	items := []documents.Item{{Key: "tip", Count: units}, {Key: "sparetip", Count: spare(units)}}
	holes := map[quantity.Length]int{}
	for _, p := range d.kept {
		if p.Go() {
			for _, s := range p.Stems {
				holes[p.label.Hole.Bit] += s.Dose.Holes
			}
		}
	}
	for _, bit := range slices.Sorted(maps.Keys(holes)) {
		items = append(items, documents.Item{Key: "bit", Bit: bit, Count: 1 + (holes[bit]+holesPerBit-1)/holesPerBit})
	}
	return items
}

// loadLots sums the picks by lot, in the order of the stock list, with spares as
// far as the lot has them.
func (d *day) loadLots(a stock.Allocation) []documents.LoadLot {
	type box struct {
		label, lot string
		size       quantity.Volume
	}
	taken := map[box]int{}
	for _, p := range a.Picks {
		taken[box{p.Label, p.Lot, p.Size}] += p.Units
	}
	var list []documents.LoadLot
	for _, lot := range d.lots {
		n := taken[box{lot.Label, lot.ID, lot.Size}]
		if n == 0 {
			continue
		}
		l := d.labels[slices.IndexFunc(d.labels, func(l label.Label) bool { return l.ID == lot.Label })]
		list = append(list, documents.LoadLot{
			Product: l.Product.Name, Fictional: l.Fictional, Lot: lot.ID, Size: lot.Size,
			Units: n, Spare: min(spare(n), lot.Units-n), Expires: lot.Expires,
		})
	}
	return list
}

func (d *day) ppe() []string {
	var list []string
	for _, l := range d.labels {
		for _, piece := range l.People.PPE {
			if !slices.Contains(list, piece) {
				list = append(list, piece)
			}
		}
	}
	return list
}

// leftAlone lists which trees are left alone and why, for the summary of a day.
func (d *day) leftAlone(out io.Writer) {
	for _, p := range d.kept {
		if p.Go() {
			continue
		}
		var reasons []string
		for _, f := range p.Opinion.Findings {
			if f.Severity == why.Block {
				sentence, _ := d.w.say.Finding(f)
				reasons = append(reasons, sentence)
			}
		}
		wrapTo(out, "  ", fmt.Sprintf("%s %s: %s", p.Tag, p.Host, strings.Join(reasons, " ")))
	}
}

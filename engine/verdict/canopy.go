package verdict

import (
	"sapwell/engine/label"
	"sapwell/engine/why"
)

// Bands are the cut points of canopy loss, in percent. They hold for ash with
// emerald ash borer only: for no other pest was a cut point found.
type Bands struct {
	Judge int `json:"judge"` // from here on: judge
	Stop  int `json:"stop"`  // above this: do not treat
	// Doubt is how far two raters may differ, in points: a rating so near a cut
	// point is judged, not decided. 0: five points.
	Doubt int `json:"doubt,omitempty"`
}

// DefaultBands: above 50 % dieback treatment is usually not recommended
// (university extension, citing the multistate bulletin on ash). The 30 % line
// is often quoted and comes from memory; that loss above 30 % goes with infested
// trees was published (Persad and Tobin 2015). Doubt of 5 points is our own: half
// of a 10 % rating class.
func DefaultBands() Bands { return Bands{Judge: 30, Stop: 50, Doubt: 5} }

// band is where a rating lies: below both cut points, near or between them, or
// above both.
type band int

const (
	below band = iota
	between
	above
)

// of returns the band of a loss in percent. Within Doubt of a cut point it is
// always to be judged: 49 and 51 are the same rating.
func (b Bands) of(loss int) band {
	switch {
	case loss > b.Stop+b.Doubt:
		return above
	case loss < b.Judge-b.Doubt:
		return below
	}
	return between
}

// canopyRules: is the tree still worth a hole?
func canopyRules() []Rule {
	return []Rule{
		{Code: "canopy.impossible", Source: why.Own, Check: canopyImpossible},
		{Code: "canopy.do_not_treat", Source: why.OSUCanopy, Check: canopyDoNotTreat},
		{Code: "canopy.judge", Source: why.Persad2015, Check: canopyJudge},
		{Code: "canopy.your_judgement", Source: why.Own, Open: true, Check: canopyYours},
		{Code: "canopy.not_rated", Source: why.OSUCanopy, Open: true, Check: canopyNotRated},
	}
}

// bands are the case's cut points, or the default ones.
func bands(c Case) Bands {
	b := c.Bands
	if b.Judge == 0 && b.Stop == 0 {
		b = DefaultBands()
	}
	if b.Doubt == 0 {
		b.Doubt = DefaultBands().Doubt
	}
	return b
}

func canopyImpossible(c Case) []why.Finding {
	b := bands(c)
	switch {
	case c.CanopyLoss != nil && (*c.CanopyLoss < 0 || *c.CanopyLoss > 100):
		return report(why.Ask, "canopy_loss", why.T("canopy_loss", *c.CanopyLoss))
	case b.Judge < 0 || b.Stop > 100 || b.Judge > b.Stop || b.Doubt < 0:
		return report(why.Ask, "bands", why.T("judge_from", b.Judge), why.T("stop_above", b.Stop), why.T("rating_doubt", b.Doubt))
	}
	return nil
}

// ashBorer: the one host and pest with published cut points.
func ashBorer(c Case) bool {
	return isGenus(c.Species, "Fraxinus") && label.SamePest(c.Pest, "Agrilus planipennis")
}

func canopyDoNotTreat(c Case) []why.Finding { return inBand(c, above, why.Block) }
func canopyJudge(c Case) []why.Finding      { return inBand(c, between, why.Ask) }

func inBand(c Case, want band, s why.Severity) []why.Finding {
	b := bands(c)
	if c.CanopyLoss == nil || !ashBorer(c) || canopyImpossible(c) != nil || b.of(*c.CanopyLoss) != want {
		return nil
	}
	return report(s, "canopy_loss", why.T("canopy_loss", *c.CanopyLoss),
		why.T("judge_from", b.Judge), why.T("stop_above", b.Stop), why.T("rating_doubt", b.Doubt))
}

// canopyYours shows the figure of any other tree and decides nothing.
func canopyYours(c Case) []why.Finding {
	if c.CanopyLoss == nil || ashBorer(c) || canopyImpossible(c) != nil {
		return nil
	}
	return report(why.Ask, "canopy_loss", why.T("canopy_loss", *c.CanopyLoss))
}

func canopyNotRated(c Case) []why.Finding {
	if c.CanopyLoss == nil {
		return report(why.Ask, "canopy_loss")
	}
	return nil
}

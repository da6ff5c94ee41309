package bore

import (
	"math"

	"sapwell/engine/why"
)

// reason tells how the stop and what follows from it came to be.
func reason(in Input, r Result, a target, b bark) why.Reason {
	depth := "bore.stop_radial"
	if in.Hole.AlongBore {
		depth = "bore.stop_along"
	}
	wood := why.Reason{Rule: "bore.wood_depth", Result: why.T("wood_depth", r.Wood.Likely), Source: why.Geometry,
		Inputs: []why.Term{why.T("stop", r.Stop), why.T("angle", in.Hole.Angle), why.T("bark", r.Bark.Likely)}, Low: r.Wood.Low, High: r.Wood.High}
	volume := why.Reason{Rule: "bore.hole_volume", Result: why.T("hole_volume", r.HoleVolume), Source: why.Geometry,
		Inputs: []why.Term{why.T("bit", in.Hole.Bit), why.T("wood_path", r.WoodPath)}}
	because := []why.Reason{b.reason, wood, volume}
	if r.Rings != [2]float64{} {
		// Widths from memory bear no more than whole rings.
		whole := [2]int{int(r.Rings[0]), int(math.Ceil(r.Rings[1]))}
		because = append(because, why.Reason{Rule: "bore.rings", Result: why.T("rings", whole), Source: why.Memory,
			Inputs: []why.Term{why.T("wood_low", r.Wood.Low), why.T("wood_high", r.Wood.High),
				why.T("ring_narrow", narrowestRing), why.T("ring_wide", widestRing)}})
	}
	return why.Reason{
		Rule: depth, Result: why.T("stop", r.Stop), Source: why.TheLabel, Rounding: "nearest",
		Inputs: []why.Term{why.T("depth_min", in.Hole.DepthMin), why.T("depth_max", in.Hole.DepthMax),
			why.T("angle", in.Hole.Angle), why.T("step", in.Step), why.T("exact", a.exact)},
		Low: r.StopRange.Low, High: r.StopRange.High,
		Because: append(because, opening(in, r), share(in, r)),
	}
}

// withoutStop tells what is known when no stop is offered.
func withoutStop(in Input, r Result) why.Reason {
	return why.Reason{Rule: "bore.no_stop", Result: why.T("stop", nil), Source: why.TheLabel,
		Because: []why.Reason{opening(in, r), share(in, r)}}
}

// opening tells the size of the hole in the bark.
func opening(in Input, r Result) why.Reason {
	return why.Reason{Rule: "bore.opening", Result: why.T("opening_height", r.OpeningH), Source: why.Geometry,
		Inputs: []why.Term{why.T("bit", in.Hole.Bit), why.T("angle", in.Hole.Angle)}}
}

// share tells how much of the girth the holes cut.
func share(in Input, r Result) why.Reason {
	return why.Reason{Rule: "bore.girth_share", Result: why.T("share_percent", 100*r.GirthShare), Source: why.Geometry,
		Inputs: []why.Term{why.T("holes", in.Holes), why.T("bit", in.Hole.Bit), why.T("girth", in.Girth.Around)}}
}

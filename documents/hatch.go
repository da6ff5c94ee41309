package documents

import "math"

// hatch fills a strip of a length and a depth (mm) with the pattern of a kind of
// obstacle. at maps a place in the strip to the page, so one pattern serves the
// bent band on the ring and the straight swatch of the legend. Patterns differ
// in form, not in tone: they must survive a wet copy.
func hatch(p *page, kind string, length, depth float64, at func(s, t float64) point) {
	switch kind {
	case "wound":
		slants(p, length, depth, 2.4, 1, fine, at)
	case "canker":
		dots(p, length, depth, at)
	case "cavity":
		slants(p, length, depth, 1.5, 1, rule, at)
		slants(p, length, depth, 1.5, -1, rule, at)
	case "crack":
		zigzag(p, length, depth, at)
	case "dead-cambium":
		slants(p, length, depth, 1.1, 0, rule, at)
	case "girdling-root":
		for _, t := range []float64{0.25, 0.5, 0.75} {
			along(p, length, depth*t, rule, at)
		}
	default:
		slants(p, length, depth, 1.6, -1, rule, at)
	}
}

// slants draws lines that advance lean·depth while they cross the strip, cut at
// both ends.
func slants(p *page, length, depth, step, lean, pen float64, at func(s, t float64) point) {
	run := lean * depth
	for s := math.Min(0, -run) + step/2; s < length+math.Max(0, -run); s += step {
		s0, t0, s1, t1 := s, 0.0, s+run, depth
		if run != 0 {
			s0, t0 = cut(s0, t0, s, run, depth, length)
			s1, t1 = cut(s1, t1, s, run, depth, length)
		}
		if math.Abs(t1-t0) > 0.1 && s0 >= 0 && s0 <= length {
			p.line(pen, at(s0, t0), at(s1, t1))
		}
	}
}

// cut moves an end of the line s(t) = from + run·t/depth back into 0..length.
func cut(s, t, from, run, depth, length float64) (float64, float64) {
	in := math.Max(0, math.Min(length, s))
	if in == s {
		return s, t
	}
	return in, (in - from) / run * depth
}

func along(p *page, length, t, pen float64, at func(s, t float64) point) {
	var pts []point
	for n, i := max(1, int(length/1.5)), 0; i <= n; i++ {
		pts = append(pts, at(length*float64(i)/float64(n), t))
	}
	p.line(pen, pts...)
}

func zigzag(p *page, length, depth float64, at func(s, t float64) point) {
	var pts []point
	n := max(2, int(length/1.4))
	for i := 0; i <= n; i++ {
		t := depth * 0.2
		if i%2 == 1 {
			t = depth * 0.8
		}
		pts = append(pts, at(length*float64(i)/float64(n), t))
	}
	p.line(0.5, pts...)
}

func dots(p *page, length, depth float64, at func(s, t float64) point) {
	for i, s := 0, 0.8; s < length-0.3; i, s = i+1, s+1.3 {
		t := depth * 0.3
		if i%2 == 1 {
			t = depth * 0.7
		}
		p.disc(at(s, t), 0.5, 0, black)
	}
}

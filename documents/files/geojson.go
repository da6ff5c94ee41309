package files

import (
	"fmt"
	"io"
	"iter"
	"slices"
)

// Position is a point on earth, WGS 84, in 1e-7 degrees (about 1 cm).
type Position struct{ Lat, Lon int64 }

// Feature is one thing on a map: a point, or an area with holes, or neither where
// nobody noted the place. Properties are whole numbers, texts, truths, or lists
// of them.
type Feature struct {
	ID         string
	Point      *Position
	Area       [][]Position // the outer ring first, then holes; open or closed
	Properties map[string]any
}

// GeoJSON writes features as one collection (RFC 7946): longitude before
// latitude, rings closed, outer rings counter-clockwise and holes clockwise
// whichever way they came, no crs. Features stand one a line.
//
// An error names the feature, what it has, and what would be accepted.
func GeoJSON(w io.Writer, features iter.Seq2[Feature, error]) error {
	o := newOut(w)
	o.put(`{"type":"FeatureCollection","features":[`)
	mark := "\n"
	for f, err := range features {
		var text string
		if err == nil {
			text, err = f.json()
		}
		if err != nil {
			return err
		}
		o.put(mark, text)
		mark = ",\n"
	}
	o.put("\n]}\n")
	return o.close()
}

func (f Feature) json() (string, error) {
	id, err := plainJSON(f.ID)
	if err != nil {
		return "", err
	}
	geometry, err := f.geometry()
	if err != nil {
		return "", fmt.Errorf("feature %.60q: %w", f.ID, err)
	}
	properties, err := plainJSON(f.Properties)
	if err != nil {
		return "", fmt.Errorf("feature %.60q: properties: %w", f.ID, err)
	}
	if f.Properties == nil {
		properties = "{}"
	}
	return `{"type":"Feature","id":` + id + `,"geometry":` + geometry + `,"properties":` + properties + `}`, nil
}

func (f Feature) geometry() (string, error) {
	switch {
	case f.Point != nil && f.Area != nil:
		return "", fmt.Errorf("a point and an area: want one of them, or neither")
	case f.Point != nil:
		text, err := f.Point.json()
		return `{"type":"Point","coordinates":` + text + `}`, err
	case f.Area == nil:
		return "null", nil
	}
	text := `{"type":"Polygon","coordinates":[`
	for i, ring := range f.Area {
		one, err := ringJSON(ring, i > 0)
		if err != nil {
			return "", fmt.Errorf("ring %d: %w", i+1, err)
		}
		if i > 0 {
			text += ","
		}
		text += one
	}
	return text + "]}", nil
}

// ringJSON closes a ring and turns it the way it must run.
func ringJSON(ring []Position, clockwise bool) (string, error) {
	ring = slices.Clone(ring)
	if n := len(ring); n > 0 && ring[0] != ring[n-1] {
		ring = append(ring, ring[0])
	}
	if len(ring) < 4 {
		return "", fmt.Errorf("%d positions with the first again at the end: want 4 or more", len(ring))
	}
	if twice := doubleArea(ring); twice == 0 {
		return "", fmt.Errorf("it encloses nothing")
	} else if twice < 0 != clockwise {
		slices.Reverse(ring)
	}
	text := "["
	for i, p := range ring {
		one, err := p.json()
		if err != nil {
			return "", err
		}
		if i > 0 {
			if jump := p.Lon - ring[i-1].Lon; jump > half || jump < -half {
				return "", fmt.Errorf("it crosses the 180th meridian: want it cut there into two")
			}
			text += ","
		}
		text += one
	}
	return text + "]", nil
}

const half = 180_0000000

// doubleArea is twice the area on a map with longitude to the right, above 0
// where the ring runs counter-clockwise. Places of one property lie close by
// each other: seen from the first, no product comes near the end of a float64's
// whole numbers.
func doubleArea(ring []Position) (sum float64) {
	at := func(p Position) (x, y float64) { return float64(p.Lon - ring[0].Lon), float64(p.Lat - ring[0].Lat) }
	for i := range ring[1:] {
		x0, y0 := at(ring[i])
		x1, y1 := at(ring[i+1])
		sum += x0*y1 - x1*y0
	}
	return sum
}

func (p Position) json() (string, error) {
	if p.Lat < -half/2 || p.Lat > half/2 || p.Lon < -half || p.Lon > half {
		return "", fmt.Errorf("latitude %s, longitude %s: want -90 to 90 and -180 to 180", degrees(p.Lat), degrees(p.Lon))
	}
	return "[" + degrees(p.Lon) + "," + degrees(p.Lat) + "]", nil
}

// degrees writes 1e-7 degrees as a JSON number.
func degrees(e7 int64) string {
	sign := ""
	if e7 < 0 {
		sign, e7 = "-", -e7
	}
	return fmt.Sprintf("%s%d.%07d", sign, e7/1e7, e7%1e7)
}

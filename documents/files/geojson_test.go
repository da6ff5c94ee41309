package files

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

func e7(deg float64) int64 { return int64(deg * 1e7) }

func geo(t testing.TB, fs ...Feature) []byte {
	return written(t, func(b *bytes.Buffer) error { return GeoJSON(b, each(fs...)) })
}

// The polygons of RFC 7946, appendix A.3, and the same rings the other way round.
func exampleArea(turned bool) Feature {
	at := func(lon, lat float64) Position { return Position{Lat: e7(lat), Lon: e7(lon)} }
	outer := []Position{at(100, 0), at(101, 0), at(101, 1), at(100, 1), at(100, 0)}
	hole := []Position{at(100.8, 0.8), at(100.8, 0.2), at(100.2, 0.2), at(100.2, 0.8), at(100.8, 0.8)}
	if turned { // open, and wound wrong
		outer = []Position{at(100, 0), at(100, 1), at(101, 1), at(101, 0)}
		hole = []Position{at(100.8, 0.8), at(100.2, 0.8), at(100.2, 0.2), at(100.8, 0.2)}
	}
	return Feature{ID: "area", Area: [][]Position{outer, hole}}
}

type collection struct {
	Type     string
	Features []struct {
		Type, ID   string
		Geometry   *struct{ Coordinates any }
		Properties map[string]any
	}
}

func readGeo(t testing.TB, b []byte) collection {
	t.Helper()
	var c collection
	if err := json.Unmarshal(b, &c); err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	return c
}

func TestExampleOfRFC7946(t *testing.T) {
	const want = `[[[100,0],[101,0],[101,1],[100,1],[100,0]],[[100.8,0.8],[100.8,0.2],[100.2,0.2],[100.2,0.8],[100.8,0.8]]]`
	var same any
	if err := json.Unmarshal([]byte(want), &same); err != nil {
		t.Fatal(err)
	}
	wanted, _ := json.Marshal(same)
	got, _ := json.Marshal(readGeo(t, geo(t, exampleArea(false))).Features[0].Geometry.Coordinates)
	if !bytes.Equal(got, wanted) {
		t.Errorf("%s, want %s", got, wanted)
	}
	outside.Ran(t, "RFC 7946, appendix A.3", "its polygon with a hole, coordinate by coordinate")
}

// RFC 7946, section 3.1.6: closed, four positions or more, outer rings
// counter-clockwise and holes clockwise by the sign of their area.
func TestWinding(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 8).Draw(t, "corners")
		var ring []Position
		for range n {
			ring = append(ring, Position{rapid.Int64Range(-5e8, 5e8).Draw(t, "lat"), rapid.Int64Range(-5e8, 5e8).Draw(t, "lon")})
		}
		for _, hole := range []bool{false, true} {
			text, err := ringJSON(ring, hole)
			if err != nil {
				return // it encloses nothing
			}
			var pts [][2]float64
			if err := json.Unmarshal([]byte(text), &pts); err != nil {
				t.Fatal(err)
			}
			area := 0.0
			for i := 1; i < len(pts); i++ {
				a, b := pts[i-1], pts[i]
				area += (b[0] - a[0]) * (b[1] + a[1]) // above 0: clockwise
			}
			if len(pts) < 4 || pts[0] != pts[len(pts)-1] || (area > 1e-6) != hole && area*area > 1e-12 {
				t.Fatalf("hole %v: %s runs with area %g", hole, text, area)
			}
		}
	})
	outside.Ran(t, "RFC 7946, section 3.1.6", "rings closed and turned, by the trapezoid formula")
}

func someTrees() []Feature {
	return []Feature{
		{ID: "0190", Point: &Position{Lat: 420000001, Lon: -750000000}, Properties: map[string]any{"tag": "T-07", "species": "Fraxinus pennsylvanica", "units": 16, "gone": false, "note": "<b>&\"quoted\"\nЯсень"}},
		{ID: "0191", Properties: map[string]any{"tag": "T-08"}},
		{ID: "0192", Point: &Position{Lat: -338567844, Lon: 1512152967}},
	}
}

// GDAL's ogrinfo sees as many features, their places, texts and areas.
func TestOgrinfoReadsTheSame(t *testing.T) {
	ogr := outside.Tool(t, "ogrinfo")
	out := program(t, geo(t, append(someTrees(), exampleArea(true))...), ".geojson", ogr, "-al", "FILE")
	for _, want := range []string{
		"Feature Count: 4", "POINT (-75 42.0000001)", "POINT (151.2152967 -33.8567844)", "T-07", "Fraxinus pennsylvanica", "units (Integer) = 16", `<b>&"quoted"`,
		"POLYGON ((100 0,101 0,101 1,100 1,100 0),(100.8 0.8,100.8 0.2,100.2 0.2,100.2 0.8,100.8 0.8))", "WGS 84",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("ogrinfo does not show %q in\n%s", want, out)
		}
	}
	if strings.Contains(out, "Warning") || strings.Contains(out, "ERROR") {
		t.Errorf("ogrinfo complains:\n%s", out)
	}
	empty := program(t, geo(t), ".geojson", ogr, "-al", "FILE")
	if !strings.Contains(empty, "Feature Count: 0") {
		t.Errorf("an empty collection is read as\n%s", empty)
	}
	outside.Ran(t, "GDAL 3.6 ogrinfo", "four features: points, none, area with hole, properties")
}

func TestGeoJSONShape(t *testing.T) {
	b := geo(t, someTrees()...)
	c := readGeo(t, b)
	if c.Type != "FeatureCollection" || len(c.Features) != 3 || c.Features[1].Geometry != nil || c.Features[2].Properties == nil || bytes.Contains(b, []byte("crs")) {
		t.Errorf("%s", b)
	}
	if !bytes.Equal(b, geo(t, someTrees()...)) {
		t.Error("two runs differ")
	}
}

func TestGeoJSONRefuses(t *testing.T) {
	at := func(lat, lon int64) Position { return Position{lat, lon} }
	far, line := at(91_0000000, 0), []Position{at(0, 0), at(1, 1)}
	for want, f := range map[string]Feature{
		"latitude 91.0000000":   {ID: "x", Point: &far},
		"3 positions":           {ID: "x", Area: [][]Position{line}},
		"encloses nothing":      {ID: "x", Area: [][]Position{{at(0, 0), at(1, 1), at(2, 2)}}},
		"0 positions":           {ID: "x", Area: [][]Position{{}}},
		"180th meridian":        {ID: "x", Area: [][]Position{{at(0, 179_0000000), at(0, -179_0000000), at(9, -179_0000000)}}},
		"a point and an area":   {ID: "x", Point: &Position{}, Area: [][]Position{line}},
		`feature "x": ring 1: `: {ID: "x", Area: [][]Position{line}},
		"properties":            {ID: "x", Properties: map[string]any{"f": func() {}}},
	} {
		if err := GeoJSON(&bytes.Buffer{}, each(f)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: got %v, want an error with %q", f, err, want)
		}
	}
}

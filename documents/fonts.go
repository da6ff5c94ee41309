package documents

import (
	_ "embed"
	"encoding/binary"
	"fmt"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// The typeface is DejaVu Sans Condensed: it has the vulgar fractions, arrows
// and the Latin, Greek and Cyrillic letters that names need. Its licence lies
// beside it. Only the glyphs used go into a PDF.
var (
	//go:embed fonts/DejaVuSansCondensed.ttf
	plainTTF []byte
	//go:embed fonts/DejaVuSansCondensed-Bold.ttf
	boldTTF []byte
)

// face is a cut of the typeface.
type face int

const (
	plain face = iota
	bold
	slanted // plain, skewed when it is painted: for scientific names
)

// missing stands for a letter the typeface lacks or cannot set.
const missing = '□'

// capHeight is how high capitals and digits are, in parts of an em, as the font's
// OS/2 table says.
const capHeight = 0.729

// mmPerPoint is 25.4/72.
const mmPerPoint = 25.4 / 72

// metrics is what layout needs of a font: the advance of each rune it has.
type metrics struct {
	perEm   float64
	glyphs  int
	advance []uint16 // by rune of the basic plane; 0: no glyph
	number  []uint16 // of its glyph, likewise
}

// of is the advance of r in parts of perEm, 0 if the font has no glyph for it.
func (m metrics) of(r rune) uint16 {
	if int(r) >= len(m.advance) {
		return 0
	}
	return m.advance[r]
}

// glyph is the number of r's glyph, 0 if the font has none.
func (m metrics) glyph(r rune) uint16 {
	if int(r) >= len(m.number) {
		return 0
	}
	return m.number[r]
}

var fontMetrics = sync.OnceValue(func() [2]metrics {
	return [2]metrics{mustMetrics(plainTTF), mustMetrics(boldTTF)}
})

func mustMetrics(ttf []byte) metrics {
	m, err := readMetrics(ttf)
	if err != nil {
		panic(err) // the file is compiled in; a test reads both
	}
	return m
}

func (f face) metrics() metrics {
	if f == bold {
		return fontMetrics()[1]
	}
	return fontMetrics()[0]
}

// width is the set width of s in millimetres at size points. No kerning: the
// painter sets none either.
func width(s string, f face, size float64) float64 {
	m := f.metrics()
	sum := 0
	for _, r := range s {
		sum += int(m.of(r))
	}
	return float64(sum) / m.perEm * size * mmPerPoint
}

// printable makes text from outside safe to set: composed letters, one line,
// and a box for what the typeface has no glyph for or cannot join or turn round
// (scripts written from the right, and those whose letters change shape).
func printable(s string) string {
	if plainASCII(s) {
		return s
	}
	m := plain.metrics()
	var b strings.Builder
	for _, r := range norm.NFC.String(s) {
		switch {
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r):
		case m.of(r) == 0, bold.metrics().of(r) == 0, needsShaping(r):
			b.WriteRune(missing)
		default:
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// plainASCII tells the common case: nothing to compose, replace or squeeze.
func plainASCII(s string) bool {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' || s[i] == ' ' && (i == 0 || i == len(s)-1 || s[i-1] == ' ') {
			return false
		}
	}
	return true
}

// needsShaping tells the scripts that must be joined, reordered or set from the
// right, and the marks that composing has left over: neither layout nor painter
// places those.
func needsShaping(r rune) bool {
	return unicode.In(r, unicode.M, unicode.Hebrew, unicode.Arabic, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Thai, unicode.Lao)
}

// readMetrics reads the tables head, hhea, hmtx and cmap (format 4) of a
// TrueType file, as the OpenType specification lays them out.
func readMetrics(ttf []byte) (metrics, error) {
	t, err := tables(ttf)
	if err != nil {
		return metrics{}, err
	}
	glyphs, err := basicCmap(t["cmap"])
	if err != nil {
		return metrics{}, err
	}
	m := metrics{perEm: float64(be16(t["head"], 18)), glyphs: be16(t["maxp"], 4), advance: make([]uint16, 0x10000), number: make([]uint16, 0x10000)}
	long := be16(t["hhea"], 34) // glyphs from here on share the last advance
	for r, g := range glyphs {
		m.advance[r] = uint16(be16(t["hmtx"], 4*min(g, long-1)))
		m.number[r] = uint16(g)
	}
	return m, nil
}

func be16(b []byte, at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
func be32(b []byte, at int) int { return int(binary.BigEndian.Uint32(b[at:])) }

func tables(ttf []byte) (map[string][]byte, error) {
	t := map[string][]byte{}
	for i := range be16(ttf, 4) {
		rec := ttf[12+16*i:]
		at, n := be32(rec, 8), be32(rec, 12)
		t[string(rec[:4])] = ttf[at : at+n]
	}
	for _, need := range []string{"head", "hhea", "hmtx", "cmap", "maxp", "glyf", "loca"} {
		if t[need] == nil {
			return nil, fmt.Errorf("font: no table %q", need)
		}
	}
	return t, nil
}

// basicCmap maps runes of the basic plane to glyphs.
func basicCmap(cmap []byte) (map[rune]int, error) {
	for i := range be16(cmap, 2) {
		sub := cmap[be32(cmap, 4+8*i+4):]
		if be16(cmap, 4+8*i) == 3 && be16(cmap, 4+8*i+2) == 1 && be16(sub, 0) == 4 {
			return segments(sub), nil
		}
	}
	return nil, fmt.Errorf("font: no Windows Unicode cmap of format 4")
}

// segments reads a cmap of format 4: parallel arrays of end, start, delta and
// range offset, two bytes an entry.
func segments(sub []byte) map[rune]int {
	glyphs := map[rune]int{}
	n := be16(sub, 6) // twice the count of segments
	for i := 0; i < n; i += 2 {
		end, start := be16(sub, 14+i), be16(sub, 16+n+i)
		delta, offAt := be16(sub, 16+2*n+i), 16+3*n+i
		off := be16(sub, offAt)
		for c := start; c <= end && c != 0xFFFF; c++ {
			g := c
			if off != 0 {
				if g = be16(sub, offAt+off+2*(c-start)); g == 0 {
					continue
				}
			}
			if g = (g + delta) & 0xFFFF; g != 0 {
				glyphs[rune(c)] = g
			}
		}
	}
	return glyphs
}

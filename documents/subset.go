package documents

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
)

// fontUse is one font file and which of its glyphs a document used. Glyphs keep
// their numbers; those not used are left empty.
type fontUse struct {
	name string
	ttf  []byte
	m    metrics
	used []rune // by glyph: the letter it was set for; 0: not used
}

func newFontUse(f face) fontUse {
	u := fontUse{name: "DejaVuSansCondensed", ttf: plainTTF, m: f.metrics()}
	if f == bold {
		u.name, u.ttf = "DejaVuSansCondensed-Bold", boldTTF
	}
	u.used = make([]rune, u.m.glyphs)
	return u
}

const hexDigits = "0123456789ABCDEF"

// hex writes the glyphs of s, four digits each, and notes that they are used.
func (u *fontUse) hex(b *bytes.Buffer, s string) {
	out := b.AvailableBuffer()
	for _, r := range s {
		g := u.m.glyph(r)
		u.used[g] = r
		out = append(out, hexDigits[g>>12], hexDigits[g>>8&15], hexDigits[g>>4&15], hexDigits[g&15])
	}
	b.Write(out)
}

// font writes the five objects of a font: ISO 32000-1 9.7 (composite fonts), with
// the glyphs' own numbers as codes, and a table back to letters so that text can be
// searched and copied.
func (p *press) font(at int, u *fontUse) {
	file, err := u.subset()
	if err != nil {
		p.err = err // the file is compiled in; a test sets every letter of it
		return
	}
	sum := sha256.Sum256(file)
	name := make([]byte, 6)
	for i := range name {
		name[i] = 'A' + sum[i]%26
	}
	base := string(name) + "+" + u.name
	p.object(at, fmt.Sprintf("<</Type/Font/Subtype/Type0/BaseFont/%s/Encoding/Identity-H/DescendantFonts[%d 0 R]/ToUnicode %d 0 R>>", base, at+1, at+4))
	p.object(at+1, fmt.Sprintf("<</Type/Font/Subtype/CIDFontType2/BaseFont/%s/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>/FontDescriptor %d 0 R/CIDToGIDMap/Identity/W[%s]>>", base, at+2, u.widths()))
	p.object(at+2, u.descriptor(base, at+3))
	p.stream(at+3, fmt.Sprintf("/Length1 %d", len(file)), file)
	p.stream(at+4, "", u.letters())
}

// widths lists advances in thousandths of an em, by glyph.
func (u *fontUse) widths() string {
	var b []byte
	for g, r := range u.used {
		if r != 0 {
			b = append(fmt.Appendf(b, "%d[", g), string(appendNumber(nil, float64(u.m.of(r))*1000/u.m.perEm, 2))+"]"...)
		}
	}
	return string(b)
}

func (u *fontUse) descriptor(base string, file int) string {
	t, _ := tables(u.ttf) // newFontUse has read them
	em := func(v int) int { return int(int16(v)) * 1000 / int(u.m.perEm) }
	head, hhea := t["head"], t["hhea"]
	return fmt.Sprintf("<</Type/FontDescriptor/FontName/%s/Flags 4/FontBBox[%d %d %d %d]/ItalicAngle 0/Ascent %d/Descent %d/CapHeight %d/StemV 90/FontFile2 %d 0 R>>",
		base, em(be16(head, 36)), em(be16(head, 38)), em(be16(head, 40)), em(be16(head, 42)), em(be16(hhea, 4)), em(be16(hhea, 6)), int(capHeight*1000), file)
}

// letters is the table from glyphs back to letters (ISO 32000-1 9.10.3), at most
// a hundred lines a block.
func (u *fontUse) letters() []byte {
	var lines [][]byte
	for g, r := range u.used {
		if r != 0 {
			lines = append(lines, fmt.Appendf(nil, "<%04X><%04X>\n", g, r)) // of the basic plane
		}
	}
	b := []byte("/CIDInit/ProcSet findresource begin 12 dict begin begincmap\n/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def\n/CMapName/Adobe-Identity-UCS def/CMapType 2 def\n1 begincodespacerange<0000><FFFF>endcodespacerange\n")
	for len(lines) > 0 {
		n := min(100, len(lines))
		b = fmt.Appendf(b, "%d beginbfchar\n", n)
		for _, l := range lines[:n] {
			b = append(b, l...)
		}
		b, lines = append(b, "endbfchar\n"...), lines[n:]
	}
	return append(b, "endcmap CMapName currentdict/CMap defineresource pop end end\n"...)
}

// subset is the font file with the outlines used and no others. The tables are
// those that a PDF reader needs (ISO 32000-1 9.9); their shapes are the OpenType
// specification's.
func (u *fontUse) subset() ([]byte, error) {
	t, err := tables(u.ttf)
	if err != nil {
		return nil, err
	}
	where := outlines(t)
	keep := make([]bool, len(where)-1)
	keep[0] = true // what a reader draws for a letter it lacks
	for g, r := range u.used {
		if r != 0 {
			gather(t["glyf"], where, g, keep)
		}
	}
	var glyf, loca []byte
	hmtx := bytes.Clone(t["hmtx"])
	long := be16(t["hhea"], 34)
	for g := range keep {
		loca = binary.BigEndian.AppendUint32(loca, uint32(len(glyf)))
		if keep[g] {
			glyf = append(glyf, t["glyf"][where[g]:where[g+1]]...)
			glyf = append(glyf, make([]byte, -len(glyf)&3)...)
		} else if g < long {
			clear(hmtx[4*g : 4*g+4])
		}
	}
	loca = binary.BigEndian.AppendUint32(loca, uint32(len(glyf)))
	head := bytes.Clone(t["head"])
	binary.BigEndian.PutUint16(head[50:], 1) // long offsets in loca
	return sfnt(map[string][]byte{
		"cvt ": t["cvt "], "fpgm": t["fpgm"], "glyf": glyf, "head": head, "hhea": t["hhea"],
		"hmtx": hmtx, "loca": loca, "maxp": t["maxp"], "prep": t["prep"],
	}), nil
}

// outlines says where each glyph lies in table glyf, with the end after the last.
func outlines(t map[string][]byte) []int {
	n := be16(t["maxp"], 4) + 1
	where := make([]int, n)
	for i := range where {
		if be16(t["head"], 50) == 0 {
			where[i] = 2 * be16(t["loca"], 2*i)
		} else {
			where[i] = be32(t["loca"], 4*i)
		}
	}
	return where
}

// gather keeps a glyph and those it is put together from.
func gather(glyf []byte, where []int, g int, keep []bool) {
	if keep[g] {
		return
	}
	keep[g] = true
	b := glyf[where[g]:where[g+1]]
	if len(b) == 0 || int16(be16(b, 0)) >= 0 {
		return
	}
	const words, scale, more, twoScales, matrix = 1 << 0, 1 << 3, 1 << 5, 1 << 6, 1 << 7
	for at, flags := 10, more; flags&more != 0; {
		flags = be16(b, at)
		gather(glyf, where, be16(b, at+2), keep)
		at += 6
		if flags&words != 0 {
			at += 2
		}
		switch {
		case flags&scale != 0:
			at += 2
		case flags&twoScales != 0:
			at += 4
		case flags&matrix != 0:
			at += 8
		}
	}
}

// sfnt puts tables into a font file, with their sums.
func sfnt(t map[string][]byte) []byte {
	names := []string{"cvt ", "fpgm", "glyf", "head", "hhea", "hmtx", "loca", "maxp", "prep"}
	out := []byte{0, 1, 0, 0, 0, byte(len(names)), 0, 128, 0, 3, 0, 16} // nine tables: 8 is the power of two below
	at := len(out) + 16*len(names)
	binary.BigEndian.PutUint32(t["head"][8:], 0)
	var body []byte
	for _, name := range names {
		b := t[name]
		out = append(out, name...)
		out = binary.BigEndian.AppendUint32(out, sum32(b))
		out = binary.BigEndian.AppendUint32(out, uint32(at+len(body)))
		out = binary.BigEndian.AppendUint32(out, uint32(len(b)))
		body = append(append(body, b...), make([]byte, -len(b)&3)...)
	}
	out = append(out, body...)
	head := be32(out[12+16*3:], 8) // the fourth table
	binary.BigEndian.PutUint32(out[head+8:], 0xB1B0AFBA-sum32(out))
	return out
}

// sum32 adds a table up in words of four bytes.
func sum32(b []byte) (sum uint32) {
	for ; len(b) >= 4; b = b[4:] {
		sum += binary.BigEndian.Uint32(b)
	}
	var last [4]byte
	copy(last[:], b)
	return sum + binary.BigEndian.Uint32(last[:])
}

package photos

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image/color"
	"image/png"
	"strings"
)

// look is what a picture says of itself before it is unpacked.
type look struct {
	width, height int
	memory        int64    // bytes it will take
	carries       []string // besides pixels
	exif          []byte   // what the camera wrote, from its byte order mark on
}

var errEnds = errors.New("ends early")

// lookJPEG goes through the segments. Up to the one with the size nothing may
// stand between them: the decoder is more patient, and must not come to see
// another size than this does.
func lookJPEG(data []byte) (look, error) {
	var l look
	rest := data[2:]
	for l.width == 0 {
		s, after, err := nextSegment(rest)
		if err != nil {
			return look{}, err
		}
		if s.isFrame() {
			if err := l.frame(s); err != nil {
				return look{}, err
			}
		}
		l.take(s.carries(), s.exif())
		rest = after
	}
	l.rest(rest)
	return l, nil
}

func (l *look) note(what string) {
	if what != "" {
		l.carries = append(l.carries, what)
	}
}

// take notes a segment or chunk; the first of Exif is read later.
func (l *look) take(what string, exif []byte) {
	if what == "exif" && l.exif == nil {
		l.exif = exif
	}
	l.note(what)
}

// rest notes what stands behind the size, up to the end of the picture and
// behind that. What cannot be made out is left to the decoder.
func (l *look) rest(rest []byte) {
	for {
		n := bytes.IndexByte(rest, 0xff)
		if n < 0 || n+1 >= len(rest) {
			return
		}
		if rest = rest[n:]; rest[1] == endOfImage {
			if len(rest) > 2 {
				l.note("trailing")
			}
			return
		}
		s, after, err := nextSegment(rest)
		if err != nil {
			rest = rest[1:] // within the packed pixels
			continue
		}
		l.take(s.carries(), s.exif())
		rest = after
	}
}

const (
	endOfImage = 0xd9
	comment    = 0xfe
)

// segment is one part of a JPEG.
type segment struct {
	marker byte
	data   []byte
}

// nextSegment reads a marker and what belongs to it. Packed pixels follow a
// segment and are none.
func nextSegment(rest []byte) (segment, []byte, error) {
	if len(rest) < 4 {
		return segment{}, nil, errEnds
	}
	marker := rest[1]
	if rest[0] != 0xff || marker < 0xc0 || marker >= 0xd0 && marker <= endOfImage {
		return segment{}, nil, fmt.Errorf("% x, want a segment", rest[:4])
	}
	n := int(binary.BigEndian.Uint16(rest[2:])) + 2
	if n < 4 || n > len(rest) {
		return segment{}, nil, errEnds
	}
	return segment{marker, rest[4:n]}, rest[n:], nil
}

// isFrame tells whether the segment has the size: SOF0 to SOF15, among which
// three other things have their numbers.
func (s segment) isFrame() bool {
	return s.marker >= 0xc0 && s.marker <= 0xcf && s.marker != 0xc4 && s.marker != 0xc8 && s.marker != 0xcc
}

// frame reads the size and works out the memory: one byte for each sample, four
// more where the picture comes in passes, and for four colours a second copy.
func (l *look) frame(s segment) error {
	if len(s.data) < 6 || len(s.data) != 6+3*int(s.data[5]) || s.data[5] == 0 {
		return errors.New("size of unknown form")
	}
	l.height, l.width = int(binary.BigEndian.Uint16(s.data[1:])), int(binary.BigEndian.Uint16(s.data[3:]))
	if l.height == 0 || l.width == 0 {
		return fmt.Errorf("%d × %d pixels", l.width, l.height)
	}
	var across, down, samples int64
	for c := s.data[6:]; len(c) > 0; c = c[3:] {
		h, v := int64(c[1]>>4), int64(c[1]&15)
		across, down, samples = max(across, h), max(down, v), samples+h*v
	}
	if across*down == 0 {
		return errors.New("colours without samples")
	}
	l.memory = int64(l.width) * int64(l.height) * samples / (across * down)
	if s.marker == 0xc2 {
		l.memory *= 5
	}
	if s.data[5] == 4 {
		l.memory *= 2
	}
	return nil
}

// carries names what a segment is, where it is no part of the picture.
func (s segment) carries() string {
	starts := func(what string) bool { return bytes.HasPrefix(s.data, []byte(what)) }
	app := int(s.marker) - 0xe0
	switch {
	case s.marker == comment:
		return "comment"
	case app < 0 || app > 15 || app == 0 && starts("JFIF\x00") || app == 14 && starts("Adobe"):
		return ""
	case app == 1 && starts("Exif\x00"):
		return "exif"
	case app == 1 && starts("http://ns.adobe.com/x"):
		return "xmp"
	case app == 2 && starts("ICC_PROFILE\x00"):
		return "colours"
	case app == 13:
		return "iptc"
	}
	return fmt.Sprintf("app%d", app)
}

// exif is what follows the name of an Exif segment and two NULs.
func (s segment) exif() []byte { return s.data[min(len(s.data), len("Exif\x00\x00")):] }

const pngMagic = "\x89PNG\r\n\x1a\n"

// lookPNG asks the decoder for the size and goes through the chunks for what
// else is there.
func lookPNG(data []byte) (look, error) {
	c, err := png.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return look{}, err
	}
	l := look{width: c.Width, height: c.Height}
	l.memory = int64(c.Width) * int64(c.Height) * pixelBytes(c.ColorModel)
	if data[28] != 0 { // interlaced: the passes are kept beside the whole
		l.memory *= 2
	}
	rest := data[len(pngMagic):]
	for len(rest) >= 12 {
		n := int64(binary.BigEndian.Uint32(rest)) + 12
		if n > int64(len(rest)) {
			break // the decoder will say so, if it is needed
		}
		name, data := string(rest[4:8]), rest[8:n-4]
		if rest = rest[n:]; name == "IEND" {
			break
		}
		l.take(chunkCarries(name), data)
	}
	if len(rest) > 0 {
		l.note("trailing")
	}
	return l, nil
}

// pixelBytes is what the decoder takes for a pixel.
func pixelBytes(m color.Model) int64 {
	switch m {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.RGBAModel, color.NRGBAModel:
		return 4
	}
	if _, ok := m.(color.Palette); ok {
		return 1
	}
	return 8
}

// chunkCarries names what a chunk is, where it is no part of the picture.
func chunkCarries(name string) string {
	switch name {
	case "eXIf":
		return "exif"
	case "iCCP", "sRGB", "gAMA", "cHRM", "cICP":
		return "colours"
	case "tEXt", "zTXt", "iTXt":
		return "text"
	case "tIME":
		return "time"
	case "acTL", "fcTL", "fdAT":
		return "film"
	case "IHDR", "PLTE", "IDAT", "tRNS", "bKGD", "pHYs", "sBIT", "hIST":
		return ""
	}
	if strings.Trim(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return "unknown"
	}
	return "chunk " + name
}

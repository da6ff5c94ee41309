package photos

import (
	"encoding/binary"
	"math/big"
	"slices"
	"strings"
	"time"

	"sapwell/entries"
)

// camera is what the camera wrote, as far as it is of use. Layout and tags are
// those of Exif 2.32 (CIPA DC-008), section 4.6; a directory has entries of
// twelve bytes, as in TIFF 6.0. Offsets are followed once and to two directories
// only, so there is nothing to run round in.
//
// We read these seven tags ourselves: the readers at hand give what is undefined
// (0/0) as 0, and a place that is half zero is a false one.
type camera struct {
	orientation          int
	taken, offset        string // "2026:06:09 14:03:11", "-05:00"
	latitude, longitude  *big.Rat
	northSouth, eastWest string
}

const (
	tagOrientation    = 0x0112
	tagExif           = 0x8769 // where the directory of the camera is
	tagGPS            = 0x8825 // and that of the place
	tagTaken          = 0x9003 // DateTimeOriginal
	tagOffset         = 0x9011 // OffsetTimeOriginal
	tagLatitudeRef    = 1
	tagLatitude       = 2
	tagLongitudeRef   = 3
	tagLongitude      = 4
	maxDirectory      = 1000
	typeASCII         = 2
	typeShort         = 3
	typeLong          = 4
	typeRational      = 5
	entryBytes        = 12
	tiffHeader        = 8
	littleEndian      = "II*\x00"
	bigEndian         = "MM\x00*"
	takenLayout       = "2006:01:02 15:04:05"
	takenLayoutOffset = takenLayout + "-07:00"
)

// listen reads an Exif part, from its byte order mark on. What is damaged is as
// if it were not there: the picture is worth keeping without.
func listen(exif []byte) camera {
	var c camera
	f := tiff{data: exif}
	switch {
	case len(exif) < tiffHeader:
		return c
	case string(exif[:4]) == littleEndian:
		f.order = binary.LittleEndian
	case string(exif[:4]) == bigEndian:
		f.order = binary.BigEndian
	default:
		return c
	}
	main := f.directory(f.order.Uint32(exif[4:]))
	if o := main[tagOrientation]; o.typ == typeShort && o.count == 1 {
		c.orientation = int(f.order.Uint16(o.value))
	}
	own := f.directory(f.pointer(main[tagExif]))
	c.taken, c.offset = own[tagTaken].text(), own[tagOffset].text()
	gps := f.directory(f.pointer(main[tagGPS]))
	c.latitude, c.northSouth = f.degrees(gps[tagLatitude]), gps[tagLatitudeRef].text()
	c.longitude, c.eastWest = f.degrees(gps[tagLongitude]), gps[tagLongitudeRef].text()
	return c
}

// tiff is a file of directories.
type tiff struct {
	data  []byte
	order binary.ByteOrder
}

// field is one entry of a directory; value has the bytes of all its items.
type field struct {
	typ   uint16
	count uint32
	value []byte
}

// directory reads the entries at an offset; 0 is none.
func (f tiff) directory(at uint32) map[uint16]field {
	if at < tiffHeader || int64(at)+2 > int64(len(f.data)) {
		return nil
	}
	n := min(int(f.order.Uint16(f.data[at:])), maxDirectory)
	found := make(map[uint16]field)
	for rest := f.data[at+2:]; n > 0 && len(rest) >= entryBytes; n-- {
		tag := f.order.Uint16(rest)
		if _, twice := found[tag]; !twice {
			found[tag] = f.field(rest[:entryBytes])
		}
		rest = rest[entryBytes:]
	}
	return found
}

// field finds the bytes of an entry: within it where they are at most four,
// otherwise at an offset. One that points outside is empty.
func (f tiff) field(entry []byte) field {
	size := map[uint16]int64{typeASCII: 1, typeShort: 2, typeLong: 4, typeRational: 8}
	d := field{typ: f.order.Uint16(entry[2:]), count: f.order.Uint32(entry[4:])}
	n := size[d.typ] * int64(d.count)
	if n == 0 {
		return field{}
	}
	d.value = entry[8:]
	if n > 4 {
		at := int64(f.order.Uint32(entry[8:]))
		if at+n > int64(len(f.data)) {
			return field{}
		}
		d.value = f.data[at:]
	}
	d.value = d.value[:n]
	return d
}

func (f tiff) pointer(d field) uint32 {
	if d.typ != typeLong || d.count != 1 {
		return 0
	}
	return f.order.Uint32(d.value)
}

// text is up to the first NUL.
func (d field) text() string {
	if d.typ != typeASCII {
		return ""
	}
	text, _, _ := strings.Cut(string(d.value), "\x00")
	return text
}

// degrees reads degrees, minutes and seconds; nil where one is undefined.
func (f tiff) degrees(d field) *big.Rat {
	if d.typ != typeRational || d.count != 3 {
		return nil
	}
	sum := new(big.Rat)
	for i, part := range []int64{1, 60, 3600} {
		num, den := f.order.Uint32(d.value[8*i:]), f.order.Uint32(d.value[8*i+4:])
		if den == 0 {
			return nil
		}
		sum.Add(sum, new(big.Rat).Quo(big.NewRat(int64(num), int64(den)), big.NewRat(part, 1)))
	}
	return sum
}

// moment is when the picture was taken, in ms since 1970; 0 where it is not
// known. zone counts where the camera does not name its offset.
func (c camera) moment(zone *time.Location) int64 {
	if zone == nil {
		zone = time.UTC
	}
	t, err := time.Parse(takenLayoutOffset, c.taken+c.offset)
	if err != nil {
		t, err = time.ParseInLocation(takenLayout, c.taken, zone)
	}
	if err != nil || t.UnixMilli() < 0 {
		return 0
	}
	return t.UnixMilli()
}

// place is where it was taken; nil where it is not known. A camera that had no
// fix writes zeros.
func (c camera) place() *entries.Place {
	lat, okLat := inE7(c.latitude, []string{"N", "S"}, c.northSouth, 90)
	lon, okLon := inE7(c.longitude, []string{"E", "W"}, c.eastWest, 180)
	if !okLat || !okLon || lat == 0 && lon == 0 {
		return nil
	}
	return &entries.Place{Lat: lat, Lon: lon}
}

// inE7 gives degrees the sign of their side, of which the second is negative,
// and rounds to 1e-7.
func inE7(degrees *big.Rat, sides []string, side string, most int64) (int64, bool) {
	which := slices.Index(sides, side)
	if degrees == nil || which < 0 || degrees.Cmp(big.NewRat(most, 1)) > 0 {
		return 0, false
	}
	n := new(big.Rat).Mul(degrees, big.NewRat(1e7, 1))
	n.Add(n, big.NewRat(1, 2))
	whole := new(big.Int).Quo(n.Num(), n.Denom()).Int64()
	if which == 1 {
		whole = -whole
	}
	return whole, true
}

// Package photos answers: what may a picture carry?
//
// A picture from a phone carries more than it shows: place, time, the owner's
// name, a smaller copy from before it was cut, a film behind the last byte.
// Clean draws the picture anew and writes nothing but pixels; time and place are
// handed back apart, and only where they are wanted.
package photos

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"slices"
	"time"

	"sapwell/entries"
)

// Bounds of what comes in and of what is kept.
const (
	MaxBytes  = 15 << 20
	MaxSide   = 2048      // pixels of the longer side of what is kept
	maxMemory = 192 << 20 // bytes a picture may take while it is unpacked: 100 megapixels of a phone
	quality   = 85
)

// Errors that callers tell apart with errors.Is.
var (
	ErrType   = errors.New("no picture of a kind that is taken")
	ErrSize   = errors.New("too large a picture")
	ErrBroken = errors.New("a picture that cannot be read")
)

// Keep says what of the camera's own words is wanted.
type Keep struct {
	Taken bool
	Place bool
	Zone  *time.Location // the camera's clock runs by, where it does not say so itself
}

// Picture is a picture that carries nothing but itself.
type Picture struct {
	Data          []byte
	Type          string // image/jpeg
	Width, Height int
	Taken         int64          // ms since 1970 by the camera's clock; 0: not known or not wanted
	Place         *entries.Place // nil: not known or not wanted
	Stripped      []string       // what came with it and is gone, such as "exif", "place", "xmp", "trailing"; sorted
}

// Clean reads a JPEG or PNG, whatever its name says, and returns it upright, as a
// JPEG of at most MaxSide pixels on the longer side. It takes up to about 300 MB
// for the largest pictures it accepts, so the caller should not clean many at once.
func Clean(data []byte, keep Keep) (Picture, error) {
	if len(data) > MaxBytes {
		return Picture{}, fmt.Errorf("%w: %d bytes, want at most %d", ErrSize, len(data), MaxBytes)
	}
	kind, err := sniff(data)
	if err != nil {
		return Picture{}, err
	}
	seen, err := kind.look(data)
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %s: %w", ErrBroken, kind.name, err)
	}
	if seen.memory > maxMemory {
		return Picture{}, fmt.Errorf("%w: %d × %d pixels take %d MB to unpack, want at most %d MB",
			ErrSize, seen.width, seen.height, seen.memory>>20, maxMemory>>20)
	}
	img, err := kind.decode(data)
	if err != nil {
		return Picture{}, fmt.Errorf("%w: %s: %w", ErrBroken, kind.name, err)
	}
	return redraw(img, seen, keep)
}

// redraw makes the picture anew and keeps what is wanted.
func redraw(img image.Image, seen look, keep Keep) (Picture, error) {
	said := listen(seen.exif)
	upright := turn(shrink(img, MaxSide), said.orientation)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, upright, &jpeg.Options{Quality: quality}); err != nil {
		return Picture{}, fmt.Errorf("write the picture: %w", err)
	}
	p := Picture{Data: out.Bytes(), Type: "image/jpeg", Width: upright.Rect.Dx(), Height: upright.Rect.Dy(), Stripped: seen.carries}
	taken, place := said.moment(keep.Zone), said.place()
	if keep.Taken {
		p.Taken = taken
	} else if taken != 0 {
		p.Stripped = append(p.Stripped, "taken")
	}
	if keep.Place {
		p.Place = place
	} else if place != nil {
		p.Stripped = append(p.Stripped, "place")
	}
	slices.Sort(p.Stripped)
	p.Stripped = slices.Compact(p.Stripped)
	return p, nil
}

// kind is a kind of picture that is taken.
type kind struct {
	name   string
	magic  string
	look   func([]byte) (look, error)
	decode func([]byte) (image.Image, error)
}

var (
	jpegKind = kind{"JPEG", "\xff\xd8\xff", lookJPEG, func(b []byte) (image.Image, error) { return jpeg.Decode(bytes.NewReader(b)) }}
	pngKind  = kind{"PNG", pngMagic, lookPNG, func(b []byte) (image.Image, error) { return png.Decode(bytes.NewReader(b)) }}
)

// sniff tells the kind by the first bytes.
func sniff(data []byte) (kind, error) {
	for _, k := range []kind{jpegKind, pngKind} {
		if bytes.HasPrefix(data, []byte(k.magic)) {
			return k, nil
		}
	}
	what := fmt.Sprintf("it begins with % x", data[:min(len(data), 8)])
	if len(data) > 12 && string(data[4:8]) == "ftyp" {
		what = fmt.Sprintf("it is %.4q", data[8:12]) // HEIC and films
	}
	return kind{}, fmt.Errorf("%w: %s, want JPEG or PNG", ErrType, what)
}

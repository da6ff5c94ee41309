package photos

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"sapwell/entries"
	"sapwell/internal/outside"
	"sapwell/journal"
)

// colours of the four quarters, from the upper left, row by row.
var quarters = [4]color.RGBA{{200, 30, 30, 255}, {30, 180, 40, 255}, {40, 60, 200, 255}, {220, 210, 60, 255}}

// quartered is a picture of four colours.
func quartered(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.SetRGBA(x, y, quarters[2*(2*y/h)+2*x/w])
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 92}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func asPNG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// job is a picture and the arguments by which exiftool is to change it.
type job struct {
	data []byte
	args []string
}

// exiftool changes pictures, all in one run, for it takes long to start.
func exiftool(t testing.TB, jobs ...job) [][]byte {
	t.Helper()
	tool, dir := outside.Tool(t, "exiftool"), t.TempDir()
	file := func(i int) string { return filepath.Join(dir, fmt.Sprintf("%d.picture", i)) }
	var args []string
	for i, j := range jobs {
		if err := os.WriteFile(file(i), j.data, 0o600); err != nil {
			t.Fatal(err)
		}
		args = slices.Concat(args, j.args, []string{file(i), "-execute"})
	}
	args = append(args, "-common_args", "-q", "-q", "-n", "-overwrite_original")
	if out, err := exec.Command(tool, args...).CombinedOutput(); err != nil {
		t.Fatalf("exiftool %v: %v\n%s", args, err, out)
	}
	var changed [][]byte
	for i := range jobs {
		data, err := os.ReadFile(file(i))
		if err != nil {
			t.Fatal(err)
		}
		changed = append(changed, data)
	}
	return changed
}

// groups lists the groups of tags that exiftool finds in a picture, but for what
// it knows of any file.
func groups(t testing.TB, data []byte) []string {
	t.Helper()
	tool := outside.Tool(t, "exiftool")
	cmd := exec.Command(tool, "-j", "-g", "-a", "-u", "-")
	cmd.Stdin = bytes.NewReader(data)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var found []map[string]any
	if err := json.Unmarshal(out, &found); err != nil {
		t.Fatal(err)
	}
	var names []string
	for name := range found[0] {
		if name != "SourceFile" && name != "ExifTool" && name != "File" && name != "Composite" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}

var said = []string{
	"-EXIF:GPSLatitude=41.6820151", "-EXIF:GPSLatitudeRef=N", "-EXIF:GPSLongitude=93.4120029", "-EXIF:GPSLongitudeRef=W",
	"-EXIF:DateTimeOriginal=2026:06:09 14:03:11", "-EXIF:OffsetTimeOriginal=-05:00", "-EXIF:Artist=Somebody",
	"-XMP:Creator=Somebody", "-IPTC:By-line=Somebody", "-Comment=hello",
}

// Reference: exiftool writes what a phone would, and finds nothing of it in what
// is kept.
func TestNothingIsCarriedAlong(t *testing.T) {
	in := exiftool(t, job{asJPEG(t, quartered(64, 48)), said})[0]
	in = append(in, "a film behind the last byte"...)
	if g := groups(t, in); !slices.Contains(g, "EXIF") || !slices.Contains(g, "XMP") || !slices.Contains(g, "IPTC") {
		t.Fatalf("exiftool put %v in", g)
	}
	p, err := Clean(in, Keep{})
	if err != nil {
		t.Fatal(err)
	}
	if g := groups(t, p.Data); len(g) > 0 {
		t.Errorf("exiftool finds %v in what is kept", g)
	}
	for _, word := range []string{"Somebody", "hello", "film", "2026"} {
		if bytes.Contains(p.Data, []byte(word)) {
			t.Errorf("%q is in what is kept", word)
		}
	}
	want := []string{"comment", "exif", "iptc", "place", "taken", "trailing", "xmp"}
	if p.Taken != 0 || p.Place != nil || !slices.Equal(p.Stripped, want) {
		t.Errorf("taken %d, place %v, stripped %v, want nothing, nothing, %v", p.Taken, p.Place, p.Stripped, want)
	}
	outside.Ran(t, "exiftool", "writes Exif, XMP, IPTC, a comment; finds none of it afterwards")
}

// Time and place are handed back where they are wanted, and do not stand in the
// picture either.
func TestTimeAndPlace(t *testing.T) {
	chicago, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 6, 9, 19, 3, 11, 0, time.UTC).UnixMilli()
	place := entries.Place{Lat: 416820151, Lon: -934120029}
	south := entries.Place{Lat: -416820151, Lon: 934120029}
	mirrored := append(slices.Clone(said), "-EXIF:GPSLatitudeRef=S", "-EXIF:GPSLongitudeRef=E")
	noOffset := append(slices.Clone(said), "-EXIF:OffsetTimeOriginal=")
	small := asJPEG(t, quartered(8, 8))
	cases := []struct {
		name string
		job
		keep  Keep
		taken int64
		place *entries.Place
	}{
		{"both", job{small, said}, Keep{Taken: true, Place: true}, at, &place},
		{"PNG", job{asPNG(t, quartered(8, 8)), said[:6]}, Keep{Taken: true, Place: true}, at, &place},
		{"time", job{small, said}, Keep{Taken: true}, at, nil},
		{"place", job{small, said}, Keep{Place: true}, 0, &place},
		{"south east", job{small, mirrored}, Keep{Place: true}, 0, &south},
		{"no offset", job{small, noOffset}, Keep{Taken: true, Zone: chicago}, at, nil},
		{"no offset, no zone", job{small, noOffset}, Keep{Taken: true}, at - 5*3600_000, nil},
		{"little endian", job{small, append([]string{"-ExifByteOrder=II"}, said...)}, Keep{Taken: true, Place: true}, at, &place},
		{"big endian", job{small, append([]string{"-ExifByteOrder=MM"}, said...)}, Keep{Taken: true, Place: true}, at, &place},
		{"only half a place", job{small, said[:2]}, Keep{Place: true}, 0, nil},
		{"no fix", job{small, []string{"-EXIF:GPSLatitude=0", "-EXIF:GPSLatitudeRef=N", "-EXIF:GPSLongitude=0", "-EXIF:GPSLongitudeRef=E"}}, Keep{Place: true}, 0, nil},
		{"an odd time", job{small, []string{"-EXIF:DateTimeOriginal#=0000:00:00 00:00:00"}}, Keep{Taken: true}, 0, nil},
		{"nothing said", job{small, []string{"-Comment=hello"}}, Keep{Taken: true, Place: true}, 0, nil},
	}
	var jobs []job
	for _, c := range cases {
		jobs = append(jobs, c.job)
	}
	pictures := exiftool(t, jobs...)
	for i, c := range cases {
		p, err := Clean(pictures[i], c.keep)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if p.Taken != c.taken || fmt.Sprint(p.Place) != fmt.Sprint(c.place) {
			t.Errorf("%s: taken %d at %v, want %d at %v", c.name, p.Taken, p.Place, c.taken, c.place)
		}
		if bytes.Contains(p.Data, []byte("Exif")) {
			t.Errorf("%s: there is an Exif part in what is kept", c.name)
		}
		if slices.Contains(p.Stripped, "taken") != (c.name == "place" || c.name == "south east") {
			t.Errorf("%s: stripped %v", c.name, p.Stripped)
		}
	}
	outside.Ran(t, "exiftool", "time with and without offset, place on four sides, both byte orders, JPEG and PNG")
}

// corners are the colours in the middle of the quarters.
func corners(m image.Image) [4]color.RGBA {
	var c [4]color.RGBA
	b := m.Bounds()
	for i := range c {
		r, g, bl, _ := m.At(b.Min.X+b.Dx()*(1+2*(i%2))/4, b.Min.Y+b.Dy()*(1+2*(i/2))/4).RGBA()
		c[i] = color.RGBA{uint8(r >> 8), uint8(g >> 8), uint8(bl >> 8), 255}
	}
	return c
}

// far is how far two colours are apart in the worst channel.
func far(a, b color.RGBA) int {
	d := func(x, y uint8) int { return max(int(x)-int(y), int(y)-int(x)) }
	return max(d(a.R, b.R), d(a.G, b.G), d(a.B, b.B))
}

// Reference: Pillow's exif_transpose, another reading of Exif 2.32, tag 0x0112.
// exiftool sets the tag.
func TestOrientation(t *testing.T) {
	python := pillow(t)
	var jobs []job
	for o := 1; o <= 8; o++ {
		jobs = append(jobs, job{asJPEG(t, quartered(96, 64)), []string{fmt.Sprintf("-EXIF:Orientation=%d", o)}})
	}
	pictures, dir := exiftool(t, jobs...), t.TempDir()
	const script = `import sys, json
from PIL import Image, ImageOps
all = []
for o in range(1, 9):
    m = ImageOps.exif_transpose(Image.open("%s/%d.jpg" % (sys.argv[1], o))).convert("RGB")
    all.append([m.size] + [m.getpixel((m.width * x // 4, m.height * y // 4)) for y in (1, 3) for x in (1, 3)])
print(json.dumps(all))`
	for i, data := range pictures {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%d.jpg", i+1)), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	out, err := exec.Command(python, "-c", script, dir).Output()
	if err != nil {
		t.Fatal(err)
	}
	var want [8][5][]int // of each the size and four colours
	if err := json.Unmarshal(out, &want); err != nil {
		t.Fatal(err)
	}
	for i, data := range pictures {
		p, err := Clean(data, Keep{})
		if err != nil {
			t.Fatal(err)
		}
		got, err := jpeg.Decode(bytes.NewReader(p.Data))
		if err != nil {
			t.Fatal(err)
		}
		if b := got.Bounds(); b.Dx() != want[i][0][0] || b.Dy() != want[i][0][1] || p.Width != b.Dx() || p.Height != b.Dy() {
			t.Errorf("orientation %d: %v, Pillow says %v", i+1, b, want[i][0])
		}
		for q, c := range corners(got) {
			w := want[i][q+1]
			if far(c, color.RGBA{uint8(w[0]), uint8(w[1]), uint8(w[2]), 255}) > 12 {
				t.Errorf("orientation %d: quarter %d is %v, Pillow says %v", i+1, q, c, w)
			}
		}
	}
	outside.Ran(t, "Pillow", "eight orientations set by exiftool, turned alike")
}

// Reference: Pillow, which makes a picture smaller by the mean of the pixels.
func TestShrinksLikeTheMean(t *testing.T) {
	python := pillow(t)
	src := image.NewRGBA(image.Rect(0, 0, 6000, 750))
	for y := range 750 { // soft waves and a fine grain that must not turn into stripes
		for x := range 6000 {
			v := uint8((x*y/4000)%160 + 40*((x+y)%2))
			src.SetRGBA(x, y, color.RGBA{v, uint8(x / 32), uint8(y / 4), 255})
		}
	}
	in := asPNG(t, src)
	p, err := Clean(in, Keep{})
	if err != nil {
		t.Fatal(err)
	}
	if p.Width != 2048 || p.Height != 256 {
		t.Fatalf("%d × %d, want 2048 × 256", p.Width, p.Height)
	}
	const script = `import sys, io
from PIL import Image, ImageChops, ImageStat
Image.MAX_IMAGE_PIXELS = None
a = Image.open(sys.argv[1]).convert("RGB").resize((2048, 256), Image.BOX)
b = Image.open(io.BytesIO(sys.stdin.buffer.read()))
print(max(ImageStat.Stat(ImageChops.difference(a, b)).mean))`
	file := filepath.Join(t.TempDir(), "in.png")
	if err := os.WriteFile(file, in, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", script, file)
	cmd.Stdin = bytes.NewReader(p.Data)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var mean float64
	if _, err := fmt.Sscan(string(out), &mean); err != nil || mean > 8 {
		t.Errorf("a mean difference of %s levels from Pillow's, %v", out, err)
	}
	outside.Ran(t, "Pillow", fmt.Sprintf("4.5 megapixels made smaller: mean difference %.1f of 255 levels", mean))
}

// pillow is a Python that has Pillow.
func pillow(t testing.TB) string {
	t.Helper()
	python := outside.Python(t)
	if err := exec.Command(python, "-c", "import PIL").Run(); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("Pillow (python3-pil) is not installed, and CI=true demands it (make tools installs it)")
		}
		t.Skip("SKIPPED, NOT CHECKED: Pillow (python3-pil) is not installed; `make tools` installs it")
	}
	return python
}

func TestSizes(t *testing.T) {
	for _, c := range []struct{ w, h, wantW, wantH int }{
		{1, 1, 1, 1}, {2048, 1536, 2048, 1536}, {2049, 10, 2048, 10}, {4097, 2, 2048, 1},
		{4096, 3072, 2048, 1536}, {10, 5000, 4, 2048}, {9000, 1, 2048, 1},
	} {
		p, err := Clean(asPNG(t, image.NewGray(image.Rect(0, 0, c.w, c.h))), Keep{})
		if err != nil || p.Width != c.wantW || p.Height != c.wantH || p.Type != "image/jpeg" {
			t.Errorf("%d × %d became %d × %d (%s), %v, want %d × %d", c.w, c.h, p.Width, p.Height, p.Type, err, c.wantW, c.wantH)
		}
	}
}

// What shows through is white.
func TestTransparentIsWhite(t *testing.T) {
	p, err := Clean(asPNG(t, image.NewNRGBA(image.Rect(0, 0, 16, 16))), Keep{})
	if err != nil {
		t.Fatal(err)
	}
	m, err := jpeg.Decode(bytes.NewReader(p.Data))
	if err != nil || far(corners(m)[0], color.RGBA{255, 255, 255, 255}) > 2 {
		t.Errorf("%v, %v, want white", corners(m)[0], err)
	}
}

// sized is a JPEG whose header says another size than its pixels have.
func sized(t testing.TB, w, h int, frame byte) []byte {
	data := asJPEG(t, quartered(8, 8))
	at := bytes.Index(data, []byte{0xff, 0xc0})
	data[at+1] = frame
	binary.BigEndian.PutUint16(data[at+5:], uint16(h))
	binary.BigEndian.PutUint16(data[at+7:], uint16(w))
	return data
}

// sizedPNG is the same for a PNG.
func sizedPNG(t testing.TB, w, h uint32) []byte {
	data := asPNG(t, quartered(8, 8))
	binary.BigEndian.PutUint32(data[16:], w)
	binary.BigEndian.PutUint32(data[20:], h)
	binary.BigEndian.PutUint32(data[29:], crc32.ChecksumIEEE(data[12:29]))
	return data
}

// A few bytes that claim to be a wall of pixels are refused before they are
// unpacked.
func TestTooLarge(t *testing.T) {
	for name, in := range map[string][]byte{
		"bytes":            append([]byte("\xff\xd8\xff"), make([]byte, MaxBytes)...),
		"JPEG":             sized(t, 65535, 65535, 0xc0),
		"progressive JPEG": sized(t, 8000, 6000, 0xc2),
		"PNG":              sizedPNG(t, 30000, 30000),
	} {
		before := allocated(t)
		_, err := Clean(in, Keep{})
		if !errors.Is(err, ErrSize) {
			t.Errorf("%s: %v, want %v", name, err, ErrSize)
		}
		if used := allocated(t) - before; used > 10<<20 {
			t.Errorf("%s: %d MB were taken before it was refused", name, used>>20)
		}
	}
	for name, in := range map[string][]byte{
		"a phone's 50 megapixels": sized(t, 8160, 6120, 0xc0),
		"12 megapixels in passes": sized(t, 4032, 3024, 0xc2),
	} {
		l, err := lookJPEG(in)
		if err != nil || l.memory > maxMemory {
			t.Errorf("%s: %d MB, %v, want it let in", name, l.memory>>20, err)
		}
	}
}

func TestRefused(t *testing.T) {
	good := asJPEG(t, quartered(64, 64))
	frame := bytes.Index(good, []byte{0xff, 0xc0})
	twoSizes := slices.Concat(good[:2], good[frame:frame+19], good[2:])
	for name, c := range map[string]struct {
		in   []byte
		want error
		text string
	}{
		"nothing":          {nil, ErrType, "want JPEG or PNG"},
		"a page":           {[]byte("<svg onload=alert(1)>"), ErrType, "want JPEG or PNG"},
		"GIF":              {[]byte("GIF89a\x01\x00\x01\x00"), ErrType, "47 49 46"},
		"HEIC":             {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), ErrType, `"heic"`},
		"only the magic":   {good[:3], ErrBroken, "ends early"},
		"no size":          {good[:frame], ErrBroken, "ends early"},
		"cut off":          {good[:len(good)-200], ErrBroken, "JPEG"},
		"two sizes":        {twoSizes, ErrBroken, "multiple SOF"},
		"no pixels":        {sized(t, 0, 0, 0xc0), ErrBroken, "0 × 0 pixels"},
		"junk in between":  {slices.Concat(good[:frame], []byte("junk"), good[frame:]), ErrBroken, "want a segment"},
		"PNG of no size":   {sizedPNG(t, 0, 0), ErrBroken, "PNG"},
		"PNG magic":        {[]byte(pngMagic), ErrBroken, "PNG"},
		"PNG cut off":      {asPNG(t, quartered(64, 64))[:80], ErrBroken, "PNG"},
		"PNG of bad sum":   {bytes.Replace(asPNG(t, quartered(8, 8)), []byte("IDAT"), []byte("IDAU"), 1), ErrBroken, "PNG"},
		"samples of zero":  {slices.Concat(good[:frame+11], []byte{0}, good[frame+12:]), ErrBroken, "JPEG"},
		"an odd size part": {slices.Concat(good[:frame+9], []byte{9}, good[frame+10:]), ErrBroken, "size of unknown form"},
	} {
		_, err := Clean(c.in, Keep{})
		if !errors.Is(err, c.want) || !strings.Contains(fmt.Sprint(err), c.text) {
			t.Errorf("%s: %v, want %v with %q", name, err, c.want, c.text)
		}
	}
}

// A fault in what the camera wrote is no fault of the picture: every byte of it
// turned over in turn, the picture stays.
func TestDamagedExif(t *testing.T) {
	in := exiftool(t, job{asJPEG(t, quartered(8, 8)), said[:6]})[0]
	at := bytes.Index(in, []byte("Exif\x00\x00"))
	end := at + int(binary.BigEndian.Uint16(in[at-2:])) - 2
	whole := entries.Place{Lat: 416820151, Lon: -934120029}
	for i := at; i < end; i++ {
		bad := slices.Clone(in)
		bad[i] ^= 0xff
		p, err := Clean(bad, Keep{Taken: true, Place: true})
		if err != nil {
			t.Fatalf("byte %d: %v", i, err)
		}
		if p.Place != nil && p.Place.Lat != whole.Lat && p.Place.Lon != whole.Lon {
			t.Errorf("byte %d: %v, want the place, none, or one figure off", i, p.Place)
		}
	}
}

func TestExifByHand(t *testing.T) {
	// Latitude with seconds 0/0: not known, and not the equator.
	file := func(latitude string) []byte {
		b := []byte("II*\x00\x08\x00\x00\x00" + "\x01\x00" + "\x25\x88\x04\x00\x01\x00\x00\x00\x1a\x00\x00\x00" + "\x00\x00\x00\x00")
		b = append(b, "\x04\x00"...)
		b = append(b, "\x01\x00\x02\x00\x02\x00\x00\x00N\x00\x00\x00"+"\x02\x00\x05\x00\x03\x00\x00\x00\x50\x00\x00\x00"+
			"\x03\x00\x02\x00\x02\x00\x00\x00E\x00\x00\x00"+"\x04\x00\x05\x00\x03\x00\x00\x00\x68\x00\x00\x00"+"\x00\x00\x00\x00"...)
		return append(append(b, latitude...), "\x0a\x00\x00\x00\x01\x00\x00\x00"+"\x1e\x00\x00\x00\x01\x00\x00\x00"+"\x24\x00\x00\x00\x01\x00\x00\x00"...)
	}
	one := "\x01\x00\x00\x00\x01\x00\x00\x00"
	for latitude, want := range map[string]*entries.Place{
		one + one + one: {Lat: 10169444, Lon: 105100000}, // 1 + 1/60 + 1/3600 degrees, 10 + 30/60 + 36/3600
		one + one + "\x00\x00\x00\x00\x00\x00\x00\x00": nil,
		"\x5b\x00\x00\x00\x01\x00\x00\x00" + one + one: nil, // 91 degrees
	} {
		if got := listen(file(latitude)).place(); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("% x: %v, want %v", latitude, got, want)
		}
	}
}

// Whatever comes in, what goes out is a plain JPEG of bounded size.
func FuzzClean(f *testing.F) {
	f.Add(asJPEG(f, quartered(16, 8)))
	f.Add(asPNG(f, quartered(8, 16)))
	f.Add(sized(f, 300, 200, 0xc2))
	f.Fuzz(func(t *testing.T, in []byte) {
		k, err := sniff(in)
		if err != nil {
			return
		}
		if l, err := k.look(in); err == nil && l.memory > 1<<20 {
			return // would only take long
		}
		p, err := Clean(in, Keep{Taken: true, Place: true})
		if err != nil {
			return
		}
		l, err := lookJPEG(p.Data)
		if err != nil || len(l.carries) > 0 || max(l.width, l.height) > MaxSide || l.width != p.Width || l.height != p.Height {
			t.Fatalf("%+v, %v", l, err)
		}
		photo := entries.Photo{On: entries.Subject{Kind: entries.OfTree, ID: "019e5a10-2b3c-7001-8000-000000000001"}, SHA256: journal.Hash{1},
			Type: p.Type, Bytes: int64(len(p.Data)), Width: p.Width, Height: p.Height, Taken: p.Taken, Place: p.Place}
		if err := photo.Check(); err != nil {
			t.Fatalf("no entry can be made of it: %v", err)
		}
	})
}

// allocated is all that was ever allocated.
func allocated(t testing.TB) uint64 {
	t.Helper()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.TotalAlloc
}

func BenchmarkClean(b *testing.B) {
	src := image.NewRGBA(image.Rect(0, 0, 4032, 3024))
	for i := range src.Pix {
		src.Pix[i] = uint8(i * i >> 9)
	}
	in := asJPEG(b, src)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Clean(in, Keep{}); err != nil {
			b.Fatal(err)
		}
	}
}

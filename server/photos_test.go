package server

import (
	"bytes"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"net/http"
	"strings"
	"testing"
)

// picture is a small JPEG with nothing in it but pixels.
var picture = drawn(func(b *bytes.Buffer, i image.Image) error { return jpeg.Encode(b, i, nil) })

func drawn(write func(*bytes.Buffer, image.Image) error) string {
	i := image.NewGray(image.Rect(0, 0, 12, 8))
	i.SetGray(3, 3, color.Gray{200})
	var b bytes.Buffer
	if err := write(&b, i); err != nil {
		panic(err)
	}
	return b.String()
}

// A device's own bytes are kept as they are, and shown to browsers as a picture that
// never changes.
func TestPhotoOfADevice(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	f.name("photo", sum([]byte(picture)).String())
	put := question{method: "PUT", path: "/api/photos/$photo", sent: []byte(picture), header: http.Header{"Content-Type": {"image/jpeg"}}, who: "phone"}
	for range 2 { // again changes nothing
		if res, body := h.ask(f, put); res.StatusCode != http.StatusOK || !bytes.Contains(body, []byte(`"width":12,"height":8`)) {
			t.Fatalf("%d %s", res.StatusCode, body)
		}
	}
	get := question{method: "GET", path: "/api/photos/$photo", who: "look"}
	res, body := h.ask(f, get)
	if string(body) != picture || res.Header.Get("Content-Type") != "image/jpeg" || !strings.Contains(res.Header.Get("Cache-Control"), "immutable") ||
		!strings.Contains(res.Header.Get("Cache-Control"), "private") || res.Header.Get("X-Content-Type-Options") != "nosniff" {
		t.Errorf("%v, %d bytes", res.Header, len(body))
	}
	get.header = http.Header{"If-None-Match": {res.Header.Get("ETag")}}
	if res, _ := h.ask(f, get); res.StatusCode != http.StatusNotModified {
		t.Errorf("%d, want 304", res.StatusCode)
	}

	put.path = "/api/photos/" + strings.Repeat("0", 64)
	res, body = h.ask(f, put)
	h.problem("other bytes", res, body, http.StatusUnprocessableEntity, "photo.other_bytes")

	carries := picture[:2] + "\xff\xfe\x00\x09secret!" + picture[2:] // a comment, JPEG's marker FE
	put.path, put.sent = "/api/photos/"+sum([]byte(carries)).String(), []byte(carries)
	res, body = h.ask(f, put)
	h.problem("carries", res, body, http.StatusUnprocessableEntity, "photo.carries")
}

// A picture of an office is cleaned, and what it was called or says it is counts for
// nothing.
func TestPhotoIsCleaned(t *testing.T) {
	h := newHouse(t)
	f := h.firm
	post := question{method: "POST", path: "/api/photos?taken=true", header: http.Header{"Content-Type": {"image/jpeg"}}, who: "boss"}
	carries := picture[:2] + "\xff\xfe\x00\x09secret!" + picture[2:]
	for _, sent := range []string{carries, drawn(func(b *bytes.Buffer, i image.Image) error { return png.Encode(b, i) })} {
		post.sent = []byte(sent)
		res, body := h.ask(f, post)
		var kept PhotoKept
		if err := json.Unmarshal(body, &kept); err != nil || res.StatusCode != http.StatusOK || kept.Type != "image/jpeg" {
			t.Fatalf("%d %s", res.StatusCode, body)
		}
		f.names = nil
		_, shown := h.ask(f, question{method: "GET", path: "/api/photos/" + kept.SHA256.String(), who: "boss"})
		if sum(shown) != kept.SHA256 || bytes.Contains(shown, []byte("secret")) {
			t.Errorf("shown %d bytes of %s", len(shown), kept.SHA256)
		}
	}
	for sent, want := range map[string]int{
		"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>": http.StatusUnsupportedMediaType,
		"GIF89a":                                http.StatusUnsupportedMediaType,
		"<!doctype html><script>":               http.StatusUnsupportedMediaType,
		"\xff\xd8\xff":                          http.StatusUnprocessableEntity,
		picture[:40]:                            http.StatusUnprocessableEntity,
		picture + strings.Repeat("x", 15<<20+1): http.StatusRequestEntityTooLarge,
	} {
		post.sent = []byte(sent)
		res, body := h.ask(f, post)
		h.problem(sent[:min(len(sent), 9)], res, body, want, "")
	}
}

package server

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/photos"
)

// mostCleaning is how many pictures are unpacked at once: one takes up to 300 MB.
const mostCleaning = 2

type photoInput struct {
	Taken   bool   `query:"taken" doc:"keep when it was taken"`
	Place   bool   `query:"place" doc:"keep where it was taken"`
	Zone    string `query:"zone" maxLength:"64" doc:"time zone of the camera's clock, where the picture does not say; such as America/Chicago"`
	RawBody []byte `contentType:"image/jpeg"`
}

type photoPut struct {
	SHA256  string `path:"sha256" pattern:"^[0-9a-f]{64}$" maxLength:"64" doc:"of the bytes"`
	RawBody []byte `contentType:"image/jpeg"`
}

type photoGet struct {
	SHA256 string `path:"sha256" pattern:"^[0-9a-f]{64}$" maxLength:"64" doc:"of the bytes"`
}

// PhotoKept is a picture as it was kept: what an entry about it says.
type PhotoKept struct {
	SHA256   journal.Hash   `json:"sha256"`
	Type     string         `json:"type"`
	Bytes    int64          `json:"bytes"`
	Width    int            `json:"width"`
	Height   int            `json:"height"`
	Taken    int64          `json:"taken,omitempty" doc:"by the camera's clock; ms since 1970"`
	Place    *entries.Place `json:"place,omitempty" doc:"by the camera"`
	Stripped []string       `json:"stripped,omitempty" doc:"what came with it and was not kept"`
}

type photoOutput struct {
	Body PhotoKept
}

func (s *Server) photoRoutes() {
	post := at(http.MethodPost, "/api/photos", "add-photo", "photos", "a picture, JPEG or PNG, kept without what came with it")
	post.Description = "The picture is drawn anew, upright and at most 2048 pixels long. Time and place are kept on purpose or not at all. " +
		"An entry about it is written by the deed photo.add."
	put := at(http.MethodPut, "/api/photos/{sha256}", "put-photo", "photos", "a picture that a device has cleaned and written an entry about")
	put.Description = "The bytes are kept as they are, so they must be those of the hash and carry nothing but the picture."
	for _, op := range []*huma.Operation{&post, &put} {
		op.MaxBodyBytes = photos.MaxBytes + 1
		op.Middlewares = huma.Middlewares{s.oneByOne}
	}
	route(s, workers, post, s.addPhoto)
	route(s, workers, put, s.putPhoto)
	s.describeBody(post, bytesOf("image/jpeg", "image/png"))
	s.describeBody(put, bytesOf("image/jpeg", "image/png"))

	get := at(http.MethodGet, "/api/photos/{sha256}", "show-photo", "photos", "a picture")
	get.Responses = map[string]*huma.Response{"200": {
		Description: "the bytes; they never change",
		Content:     map[string]*huma.MediaType{"image/jpeg": {}, "image/png": {}},
	}, "304": {Description: "the copy that the client has is good"}}
	route(s, signedIn, get, s.showPhoto)
}

// oneByOne lets few pictures in at once, and of each person one.
func (s *Server) oneByOne(ctx huma.Context, next func(huma.Context)) {
	who := callerOf(ctx.Context()).Who
	s.queue(ctx, next, s.pictures, sha256.Sum256(who.Person[:]))
}

func (s *Server) addPhoto(ctx context.Context, c caller, in *photoInput) (*photoOutput, error) {
	keep := photos.Keep{Taken: in.Taken, Place: in.Place}
	if in.Zone != "" {
		zone, err := time.LoadLocation(in.Zone)
		if err != nil {
			return nil, problem(http.StatusUnprocessableEntity, "request.malformed").in("query.zone")
		}
		keep.Zone = zone
	}
	p, err := photos.Clean(in.RawBody, keep)
	if err != nil {
		return nil, photoProblem(err)
	}
	return s.keepPhoto(ctx, c, p, p.Data)
}

// putPhoto keeps bytes that a device has signed for, so they cannot be cleaned here:
// they are refused where there would be something to clean.
func (s *Server) putPhoto(ctx context.Context, c caller, in *photoPut) (*photoOutput, error) {
	var want journal.Hash
	if err := want.UnmarshalText([]byte(in.SHA256)); err != nil || want != sha256.Sum256(in.RawBody) {
		return nil, problem(http.StatusUnprocessableEntity, "photo.other_bytes").in("path.sha256")
	}
	p, err := photos.Clean(in.RawBody, photos.Keep{})
	if err != nil {
		return nil, photoProblem(err)
	}
	if len(p.Stripped) > 0 {
		return nil, problem(http.StatusUnprocessableEntity, "photo.carries").in("body")
	}
	p.Type = http.DetectContentType(in.RawBody)
	return s.keepPhoto(ctx, c, p, in.RawBody)
}

func (s *Server) keepPhoto(ctx context.Context, c caller, p photos.Picture, data []byte) (*photoOutput, error) {
	sum, err := c.ledger.PutBlob(ctx, bytes.Clone(data), s.now())
	return &photoOutput{Body: PhotoKept{
		SHA256: sum, Type: p.Type, Bytes: int64(len(data)), Width: p.Width, Height: p.Height,
		Taken: p.Taken, Place: p.Place, Stripped: p.Stripped,
	}}, err
}

func photoProblem(err error) error {
	switch {
	case errors.Is(err, photos.ErrType):
		return problem(http.StatusUnsupportedMediaType, "photo.type").in("body")
	case errors.Is(err, photos.ErrSize):
		return problem(http.StatusRequestEntityTooLarge, "photo.size").in("body")
	case errors.Is(err, photos.ErrBroken):
		return problem(http.StatusUnprocessableEntity, "photo.broken").in("body")
	}
	return err
}

func (s *Server) showPhoto(ctx context.Context, c caller, in *photoGet) (*streamed, error) {
	var sum journal.Hash
	if err := sum.UnmarshalText([]byte(in.SHA256)); err != nil {
		return nil, problem(http.StatusNotFound, "thing.not_found")
	}
	data, err := c.ledger.Blob(ctx, sum)
	if err != nil {
		return nil, err
	}
	return &streamed{Body: func(ctx huma.Context) {
		r, w := humago.Unwrap(ctx)
		h := w.Header()
		h.Set("Content-Type", pictureType(data))
		h.Set("Cache-Control", "private, max-age=31536000, immutable")
		h.Set("ETag", `"`+sum.String()+`"`)
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	}}, nil
}

// pictureType is that of the bytes. What is no picture is never shown as anything.
func pictureType(data []byte) string {
	switch kind := http.DetectContentType(data); kind {
	case "image/jpeg", "image/png":
		return kind
	}
	return "application/octet-stream"
}

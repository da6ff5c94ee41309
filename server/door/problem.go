package door

import (
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"strconv"

	"sapwell/accounts"
	"sapwell/accounts/passkey"
)

// problem is why a request is not served (RFC 9457). The code is for machines and
// never changes.
type problem struct {
	status int
	code   string
	wait   int64 // after how many seconds to try again; 0: not said
	cause  error // for the log
}

func (p *problem) Error() string { return p.code }

func (p *problem) Unwrap() error { return p.cause }

var (
	errTooBig  = &problem{status: http.StatusRequestEntityTooLarge, code: "request.too_large"}
	errTooSlow = &problem{status: http.StatusRequestTimeout, code: "request.too_slow"}
	errForm    = &problem{status: http.StatusBadRequest, code: "request.malformed"}
	errType    = &problem{status: http.StatusUnsupportedMediaType, code: "request.other_type"}
	errMissing = &problem{status: http.StatusNotFound, code: "thing.not_found"}
	errRights  = &problem{status: http.StatusForbidden, code: "session.not_entitled"}
	errRefused = &problem{status: http.StatusUnauthorized, code: "session.refused"}
)

func slowDown(wait int64) *problem {
	return &problem{status: http.StatusTooManyRequests, code: "request.too_many", wait: wait}
}

// sorted are errors of other packages, and what they are at the door.
var sorted = []struct {
	err error
	problem
}{
	{accounts.ErrRefused, *errRefused},
	{accounts.ErrBusy, problem{status: http.StatusServiceUnavailable, code: "server.busy", wait: 2}},
	{accounts.ErrShort, problem{status: http.StatusUnprocessableEntity, code: "password.short"}},
	{accounts.ErrLong, problem{status: http.StatusUnprocessableEntity, code: "password.long"}},
	{accounts.ErrCommon, problem{status: http.StatusUnprocessableEntity, code: "password.common"}},
	{accounts.ErrNotText, problem{status: http.StatusUnprocessableEntity, code: "password.not_text"}},
	{accounts.ErrLogin, problem{status: http.StatusUnprocessableEntity, code: "login.form"}},
	{passkey.ErrTooMany, problem{status: http.StatusConflict, code: "passkey.too_many"}},
	{ErrRevoked, problem{status: http.StatusConflict, code: "device.revoked"}},
	{accounts.ErrExists, problem{status: http.StatusConflict, code: "login.taken"}},
	{accounts.ErrNotFound, *errMissing},
	{os.ErrDeadlineExceeded, *errTooSlow},
}

// sort turns any error into a problem; what is our own fault is logged and not told.
func (d *Door) sort(r *http.Request, err error) *problem {
	var p *problem
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return errTooBig
	case errors.As(err, &p):
		return p
	}
	for _, k := range sorted {
		if errors.Is(err, k.err) {
			return &k.problem
		}
	}
	d.Log.ErrorContext(r.Context(), "fault at the door", "cause", err.Error())
	return &problem{status: http.StatusInternalServerError, code: "server.fault"}
}

// fail answers with a problem.
func (d *Door) fail(w http.ResponseWriter, r *http.Request, err error) {
	p := d.sort(r, err)
	if p.wait > 0 {
		w.Header().Set("Retry-After", strconv.FormatInt(p.wait, 10))
	}
	if p.status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="sapwell"`)
	}
	if p.code == errTooBig.code || p.code == errTooSlow.code {
		w.Header().Set("Connection", "close")
	}
	lang := d.pages.asked(r)
	w.Header().Set("Content-Language", lang)
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(p.status)
	_ = json.NewEncoder(w).Encode(struct { // who does not read it has gone
		Type    string `json:"type"`
		Title   string `json:"title"`
		Status  int    `json:"status"`
		Code    string `json:"code"`
		Detail  string `json:"detail"`
		Request string `json:"request,omitempty"`
	}{"about:blank", http.StatusText(p.status), p.status, p.code, d.pages.problem(lang, p), w.Header().Get("X-Request-Id")})
}

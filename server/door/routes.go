package door

import (
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"slices"
	"strings"

	"sapwell/entries"
)

// ownBody is how large a body may be that is sent to the door itself.
const ownBody = 64 << 10

// route is one of the door's own.
type route struct {
	pattern  string
	open     bool         // needs no session
	accounts bool         // only where there are accounts
	role     entries.Role // needed beside a session; "": none
	page     string       // where a form that is not taken comes back to
	do       func(d *Door, w http.ResponseWriter, r *http.Request) error
}

// routes are all of the door's own.
func routes() []route {
	return []route{
		{pattern: "GET /signin", open: true, accounts: true, do: show("signin")},
		{pattern: "GET /join", open: true, accounts: true, do: show("join")},
		{pattern: "GET /enrol", open: true, do: (*Door).enrolPage},
		{pattern: "GET /account", accounts: true, do: show("account")},
		{pattern: "GET /invite", role: entries.Office, do: show("invite")},
		{pattern: "GET /door/{file}", open: true, do: (*Door).file},
		{pattern: "GET /authority.crt", open: true, do: (*Door).authority},

		{pattern: "POST /session", open: true, accounts: true, page: "signin", do: (*Door).signIn},
		{pattern: "GET /session", do: (*Door).whoAmI},
		{pattern: "DELETE /session", do: (*Door).signOut},
		{pattern: "DELETE /sessions", accounts: true, do: (*Door).signOutEverywhere},
		{pattern: "POST /signout", accounts: true, page: "account", do: (*Door).signOutForm},
		{pattern: "POST /password", accounts: true, page: "account", do: (*Door).password},
		{pattern: "POST /join", open: true, accounts: true, page: "join", do: (*Door).join},

		{pattern: "POST /session/passkey/begin", open: true, accounts: true, do: (*Door).beginPasskeySignIn},
		{pattern: "POST /session/passkey/finish", open: true, accounts: true, do: (*Door).passkeySignIn},
		{pattern: "GET /passkeys", accounts: true, do: (*Door).listPasskeys},
		{pattern: "POST /passkeys/begin", accounts: true, do: (*Door).beginPasskey},
		{pattern: "POST /passkeys/finish", accounts: true, do: (*Door).addPasskey},
		{pattern: "DELETE /passkeys/{id}", accounts: true, do: (*Door).dropPasskey},

		{pattern: "POST /invites", role: entries.Office, page: "invite", do: (*Door).invite},
		{pattern: "POST /enrol", open: true, do: (*Door).enrol},
	}
}

// ownMux serves them.
func (d *Door) ownMux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, rt := range routes() {
		mux.HandleFunc(rt.pattern, func(w http.ResponseWriter, r *http.Request) { d.serve(rt, w, r) })
	}
	return mux
}

// ownOpen are the patterns of those that need no session.
func ownOpen() (list []string) {
	for _, rt := range routes() {
		if rt.open {
			list = append(list, rt.pattern)
		}
	}
	return list
}

func (d *Door) serve(rt route, w http.ResponseWriter, r *http.Request) {
	who, _ := From(r.Context())
	r.Body = http.MaxBytesReader(w, r.Body, ownBody)
	var err error
	switch {
	case rt.accounts && d.Sole != nil && d.App != nil && r.Method == http.MethodGet && wantsPage(r):
		d.App.ServeHTTP(w, r) // it has screens of these names, and a page may be loaded anew on each
	case rt.accounts && d.Sole != nil:
		err = errMissing
	case rt.role != "" && !who.Has(rt.role):
		err = errRights
	default:
		err = rt.do(d, w, r)
	}
	switch {
	case err == nil:
	case rt.page != "" && isForm(r):
		d.page(w, r, rt.page, view{}, err)
	default:
		d.fail(w, r, err)
	}
}

// isForm reports whether a page's form was sent, not a program's JSON.
func isForm(r *http.Request) bool { return mediaType(r) == "application/x-www-form-urlencoded" }

func mediaType(r *http.Request) string {
	t, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if err != nil {
		return ""
	}
	return t
}

// wantsPage reports whether a browser asks for something to look at.
func wantsPage(r *http.Request) bool { return strings.Contains(r.Header.Get("Accept"), "text/html") }

// input reads a flat form, or a JSON object of texts, that has some of these fields
// and no others. Nothing is read from the address: it ends up in logs.
func input(r *http.Request, names ...string) (map[string]string, error) {
	in := map[string]string{}
	switch mediaType(r) {
	case "application/json":
		if err := readJSON(r, &in); err != nil {
			return nil, err
		}
	case "application/x-www-form-urlencoded":
		if err := r.ParseForm(); err != nil {
			return nil, malformed(err)
		}
		for name, values := range r.PostForm {
			in[name] = values[0]
		}
	default:
		return nil, errType
	}
	for name := range in {
		if !slices.Contains(names, name) {
			return nil, errForm
		}
	}
	return in, nil
}

// readJSON reads one JSON value and nothing after it.
func readJSON(r *http.Request, to any) error {
	if mediaType(r) != "application/json" {
		return errType
	}
	dec := json.NewDecoder(r.Body)
	dec.DisallowUnknownFields()
	if err := dec.Decode(to); err != nil {
		return malformed(err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return malformed(err)
	}
	return nil
}

// malformed keeps what was really wrong where it was not the form.
func malformed(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) || errors.Is(err, errTooSlow) {
		return err
	}
	return errForm
}

func writeJSON(w http.ResponseWriter, v any) error {
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(v)
}

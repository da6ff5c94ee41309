package door

import (
	"encoding/base64"
	"encoding/json"
	"errors"
	"io"
	"net/http"

	"sapwell/accounts"
)

var errNoPasskeys = &problem{status: http.StatusNotFound, code: "passkey.none_here"}

// ceremonyCookie names a ceremony to the browser that began it.
func (d *Door) ceremonyCookie() string { return d.cookieName() + "-ceremony" }

func (d *Door) setCeremony(w http.ResponseWriter, handle string, age int) {
	c := d.cookie(handle, age)
	c.Name, c.SameSite = d.ceremonyCookie(), http.SameSiteStrictMode
	http.SetCookie(w, c)
}

func (d *Door) ceremony(w http.ResponseWriter, r *http.Request) string {
	c, err := r.Cookie(d.ceremonyCookie())
	if err != nil {
		return ""
	}
	d.setCeremony(w, "", -1)
	return c.Value
}

func (d *Door) beginPasskeySignIn(w http.ResponseWriter, r *http.Request) error {
	if d.passkeys == nil {
		return errNoPasskeys
	}
	if wait := d.tries.address.wait(d.address(r)); wait > 0 {
		return slowDown(wait)
	}
	options, handle, err := d.passkeys.BeginSignIn()
	if err != nil {
		return err
	}
	d.setCeremony(w, handle, 300)
	return writeJSON(w, json.RawMessage(options))
}

func (d *Door) passkeySignIn(w http.ResponseWriter, r *http.Request) error {
	if d.passkeys == nil {
		return errNoPasskeys
	}
	if wait := d.tries.address.wait(d.address(r)); wait > 0 {
		return slowDown(wait)
	}
	if mediaType(r) != "application/json" {
		return errType
	}
	answer, err := io.ReadAll(r.Body)
	if err != nil {
		return err
	}
	token, _, err := d.passkeys.SignIn(r.Context(), d.ceremony(w, r), answer)
	if err != nil {
		return err
	}
	return d.welcome(w, r, token)
}

// keyed is who has an account that can have passkeys.
func (d *Door) keyed(r *http.Request) (Who, error) {
	who, _ := From(r.Context())
	switch {
	case d.passkeys == nil:
		return who, errNoPasskeys
	case who.Account == "":
		return who, errRights
	}
	return who, nil
}

func (d *Door) beginPasskey(w http.ResponseWriter, r *http.Request) error {
	who, err := d.keyed(r)
	if err != nil {
		return err
	}
	options, handle, err := d.passkeys.BeginAdd(r.Context(), who.Account)
	if err != nil {
		return err
	}
	d.setCeremony(w, handle, 300)
	return writeJSON(w, json.RawMessage(options))
}

func (d *Door) addPasskey(w http.ResponseWriter, r *http.Request) error {
	who, err := d.keyed(r)
	if err != nil {
		return err
	}
	var in struct {
		Name   string          `json:"name"`
		Answer json.RawMessage `json:"answer"`
	}
	if err := readJSON(r, &in); err != nil {
		return err
	}
	err = d.passkeys.Add(r.Context(), who.Account, d.ceremony(w, r), in.Name, in.Answer)
	switch {
	case errors.Is(err, accounts.ErrExists):
		return &problem{status: http.StatusConflict, code: "passkey.there"}
	case errors.Is(err, accounts.ErrRefused):
		return &problem{status: http.StatusUnprocessableEntity, code: "passkey.refused", cause: err}
	case err != nil:
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// keyView is a passkey as its owner sees it.
type keyView struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Made int64  `json:"made"`
	Used int64  `json:"used,omitempty"`
}

func (d *Door) keysOf(r *http.Request, who Who) ([]keyView, error) {
	kept, err := d.passkeys.List(r.Context(), who.Account)
	list := []keyView{}
	for _, p := range kept {
		list = append(list, keyView{base64.RawURLEncoding.EncodeToString(p.ID), p.Name, p.Made, p.Used})
	}
	return list, err
}

func (d *Door) listPasskeys(w http.ResponseWriter, r *http.Request) error {
	who, err := d.keyed(r)
	if err != nil {
		return err
	}
	list, err := d.keysOf(r, who)
	if err != nil {
		return err
	}
	return writeJSON(w, list)
}

func (d *Door) dropPasskey(w http.ResponseWriter, r *http.Request) error {
	who, err := d.keyed(r)
	if err != nil {
		return err
	}
	id, err := base64.RawURLEncoding.DecodeString(r.PathValue("id"))
	if err != nil {
		return errMissing
	}
	if err := d.passkeys.Drop(r.Context(), who.Account, id); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

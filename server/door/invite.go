package door

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"strings"
	"unicode/utf8"

	"sapwell/accounts"
	"sapwell/journal"
)

// maxDeviceName is in characters.
const maxDeviceName = 60

// invite lets the office hand out a way in, for somebody of its own organisation.
func (d *Door) invite(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "person", "sort")
	if err != nil {
		return err
	}
	who, _ := From(r.Context())
	var person journal.ID
	if person.UnmarshalText([]byte(in["person"])) != nil || in["sort"] != accounts.ForDevice && in["sort"] != accounts.ForAccount {
		return errForm
	}
	roles, err := d.Journal.Roles(r.Context(), who.Org, person)
	if err != nil {
		return err
	}
	if len(roles) == 0 {
		return errMissing
	}
	secret, until, err := d.desk.Invite(r.Context(), who.Org, person, in["sort"])
	if err != nil {
		return err
	}
	link := accounts.Link{Site: d.Site.Scheme + "://" + d.Site.Host, Sort: in["sort"], Secret: secret, Fingerprint: d.pinned()}
	d.Log.InfoContext(r.Context(), "invited", "sort", in["sort"])
	if isForm(r) {
		return d.showInvite(w, r, link)
	}
	qr, err := qrOf(link)
	if err != nil {
		return err
	}
	return writeJSON(w, map[string]any{"link": link.String(), "until": until, "qr": qr})
}

// pinned is the fingerprint that a link holds: that of our own authority, which
// stays, or that of the certificate; zero where a public authority vouches for it.
func (d *Door) pinned() journal.Hash {
	if d.Authority != nil {
		return sha256.Sum256(d.Authority)
	}
	return d.shown()
}

// shown is the fingerprint that a browser shows.
func (d *Door) shown() journal.Hash {
	if d.Fingerprint == nil {
		return journal.Hash{}
	}
	return d.Fingerprint()
}

// enrol lets a device in with an invite: it brings its public key and shows that it
// holds the private one. The answer holds its token, once.
func (d *Door) enrol(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "secret", "key", "signature", "name")
	if err != nil {
		return err
	}
	if wait := d.tries.address.wait(d.address(r)); wait > 0 {
		return slowDown(wait)
	}
	key, err1 := hex.DecodeString(in["key"])
	signature, err2 := hex.DecodeString(in["signature"])
	name := strings.Join(strings.Fields(in["name"]), " ")
	if errors.Join(err1, err2) != nil || name == "" || utf8.RuneCountInString(name) > maxDeviceName || !utf8.ValidString(name) {
		return errForm
	}
	write := func(ctx context.Context, i accounts.Invite, device journal.Hash) error {
		roles, err := d.Journal.Roles(ctx, i.Org, i.Person)
		if err == nil && len(roles) == 0 { // has left since
			err = accounts.ErrRefused
		}
		if err != nil {
			return err
		}
		return d.Journal.Enrol(ctx, i.Org, i.Person, device, name)
	}
	token, s, err := d.desk.Enrol(r.Context(), accounts.Enrolment{Secret: in["secret"], Key: key, Signature: signature}, write)
	if err != nil {
		return err
	}
	d.Log.InfoContext(r.Context(), "device enrolled", "device", s.Device.String()[:8])
	return writeJSON(w, struct {
		Token  string       `json:"token"`
		Org    journal.ID   `json:"org"`
		Person journal.ID   `json:"person"`
		Device journal.Hash `json:"device"`
	}{token, s.Org, s.Person, s.Device})
}

// authority is the certificate of the server's own authority, for phones to install.
func (d *Door) authority(w http.ResponseWriter, _ *http.Request) error {
	if d.Authority == nil {
		return errMissing
	}
	w.Header().Set("Content-Type", "application/x-x509-ca-cert")
	w.Header().Set("Content-Disposition", `attachment; filename="sapwell-authority.crt"`)
	_, err := w.Write(d.Authority)
	return err
}

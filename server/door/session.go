package door

import (
	"net/http"

	"sapwell/accounts"
)

// signIn checks name and password. Whatever is wrong is answered alike.
func (d *Door) signIn(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "login", "password")
	if err != nil {
		return err
	}
	name, err := accounts.CleanLogin(in["login"])
	if err != nil {
		name = "?" // no name of anybody
	}
	address := d.address(r)
	if wait := d.tries.begin(name, address); wait > 0 {
		return slowDown(wait)
	}
	token, _, err := d.desk.SignIn(r.Context(), in["login"], in["password"])
	if err != nil {
		return err
	}
	d.tries.right(name, address)
	return d.welcome(w, r, token)
}

// join turns an invite into an account.
func (d *Door) join(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "secret", "login", "password")
	if err != nil {
		return err
	}
	if wait := d.tries.address.wait(d.address(r)); wait > 0 {
		return slowDown(wait)
	}
	token, _, err := d.desk.Join(r.Context(), in["secret"], in["login"], in["password"])
	if err != nil {
		return err
	}
	return d.welcome(w, r, token)
}

// password changes it. All that was open for the person ends; this browser gets
// a new session.
func (d *Door) password(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "old", "new")
	if err != nil {
		return err
	}
	who, _ := From(r.Context())
	if who.Account == "" {
		return errRights
	}
	if wait := d.tries.begin("account "+who.Account, d.address(r)); wait > 0 {
		return slowDown(wait)
	}
	token, _, err := d.desk.SetPassword(r.Context(), who.Account, in["old"], in["new"])
	if err != nil {
		return err
	}
	d.tries.right("account "+who.Account, d.address(r))
	return d.welcome(w, r, token)
}

// welcome gives a browser a new session and ends the one it had: a session that
// somebody else planted in it never becomes that of whoever signs in.
func (d *Door) welcome(w http.ResponseWriter, r *http.Request, token string) error {
	if old, device, there := d.token(r); there && !device {
		if err := d.desk.SignOut(r.Context(), old); err != nil {
			return err
		}
	}
	who, err := d.holder(r.Context(), token, false)
	if err != nil {
		return err
	}
	d.remember(w, token)
	d.Log.InfoContext(r.Context(), "signed in", "account", who.Account)
	if isForm(r) {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	return writeJSON(w, who)
}

func (d *Door) whoAmI(w http.ResponseWriter, r *http.Request) error {
	who, _ := From(r.Context())
	return writeJSON(w, who)
}

// signOut ends this session; a device gives its token back.
func (d *Door) signOut(w http.ResponseWriter, r *http.Request) error {
	token, device, there := d.token(r)
	if there {
		if err := d.desk.SignOut(r.Context(), token); err != nil {
			return err
		}
	}
	if !device {
		d.forget(w)
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

func (d *Door) signOutEverywhere(w http.ResponseWriter, r *http.Request) error {
	who, _ := From(r.Context())
	if err := d.desk.SignOutEverywhere(r.Context(), who.Person); err != nil {
		return err
	}
	d.forget(w)
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// signOutForm is what a page's button sends, which can only post.
func (d *Door) signOutForm(w http.ResponseWriter, r *http.Request) error {
	in, err := input(r, "everywhere")
	if err != nil {
		return err
	}
	who, _ := From(r.Context())
	token, _, _ := d.token(r)
	if err = d.desk.SignOut(r.Context(), token); err == nil && in["everywhere"] != "" {
		err = d.desk.SignOutEverywhere(r.Context(), who.Person)
	}
	if err != nil {
		return err
	}
	d.forget(w)
	http.Redirect(w, r, "/signin", http.StatusSeeOther)
	return nil
}

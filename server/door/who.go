package door

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"sapwell/accounts"
	"sapwell/entries"
	"sapwell/journal"
)

// Who is who a request acts for.
type Who struct {
	Org     journal.ID     `json:"org"`
	Person  journal.ID     `json:"person"`
	Roles   []entries.Role `json:"roles"`
	Device  journal.Hash   `json:"device,omitzero"` // zero for a browser
	Account string         `json:"-"`               // "" for a device and for the sole user
	Sole    bool           `json:"sole,omitempty"`  // on loopback without sign-in
	Until   int64          `json:"until,omitempty"` // when the session ends if nobody is seen; ms since 1970
}

// Has reports whether they have a role.
func (w Who) Has(role entries.Role) bool { return slices.Contains(w.Roles, role) }

type whoKey struct{}

// From is who a request acts for. Behind the door it is always there, unless the
// route is open and nobody signed in.
func From(ctx context.Context) (Who, bool) {
	w, ok := ctx.Value(whoKey{}).(Who)
	return w, ok
}

// errNobody says that nobody is signed in; errOut that their session or device
// is no longer good.
var (
	errNobody = &problem{status: http.StatusUnauthorized, code: "session.none"}
	errOut    = &problem{status: http.StatusUnauthorized, code: "session.over"}
)

// known finds out who is asking. Without a good session only open routes go on.
func (d *Door) known(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who, err := d.who(r)
		var p *problem
		stranger := errors.As(err, &p)
		if err != nil && !stranger {
			d.fail(w, r, err)
			return
		}
		if wait := d.pace(r, who, stranger); wait > 0 {
			d.fail(w, r, slowDown(wait))
			return
		}
		switch {
		case !stranger:
			r = r.WithContext(context.WithValue(r.Context(), whoKey{}, who))
		case !matches(d.open, r):
			d.turnAway(w, r, err)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// turnAway sends a person to the sign-in page and tells a program.
func (d *Door) turnAway(w http.ResponseWriter, r *http.Request, err error) {
	if errors.Is(err, errOut) {
		d.forget(w)
	}
	if r.Method == http.MethodGet && wantsPage(r) {
		http.Redirect(w, r, "/signin", http.StatusSeeOther)
		return
	}
	d.fail(w, r, err)
}

// pace says how long to wait before this request is served.
func (d *Door) pace(r *http.Request, who Who, stranger bool) (wait int64) {
	switch {
	case stranger:
		return d.strangers.wait(d.address(r))
	case who.Sole:
		return 0
	case who.Account == "":
		return d.sessions.wait(who.Device.String())
	}
	return d.sessions.wait(who.Account)
}

// who is whose request it is: errNobody, errOut, or another error where it could
// not be found out.
func (d *Door) who(r *http.Request) (Who, error) {
	token, device, there := d.token(r)
	switch {
	case there:
		return d.holder(r.Context(), token, device)
	case d.Sole != nil:
		return d.sole(r.Context())
	}
	return Who{}, errNobody
}

// token is what the request shows. A device shows a bearer token, a browser a
// cookie; neither is looked for anywhere else, and neither will do for the other.
func (d *Door) token(r *http.Request) (token string, device, there bool) {
	if header := r.Header.Get("Authorization"); header != "" {
		scheme, token, _ := strings.Cut(header, " ")
		if !strings.EqualFold(scheme, "Bearer") {
			token = ""
		}
		return token, true, true
	}
	c, err := r.Cookie(d.cookieName())
	if err != nil || d.Sole != nil {
		return "", false, false
	}
	return c.Value, false, true
}

// holder is who holds a token, if person and device are still with us.
func (d *Door) holder(ctx context.Context, token string, device bool) (Who, error) {
	s, err := d.desk.Session(ctx, token)
	if errors.Is(err, accounts.ErrRefused) || err == nil && device != (s.Device != journal.Hash{}) {
		return Who{}, errOut
	}
	if err != nil {
		return Who{}, err
	}
	roles, err := d.Journal.Roles(ctx, s.Org, s.Person)
	if err != nil {
		return Who{}, err
	}
	if len(roles) == 0 { // has left: nothing of theirs stays open
		return Who{}, errors.Join(errOut, d.desk.SignOutEverywhere(ctx, s.Person))
	}
	w := Who{Org: s.Org, Person: s.Person, Roles: roles, Device: s.Device, Account: s.Account}
	if !device {
		w.Until = s.Until
		return w, nil
	}
	in, err := d.Journal.Enrolled(ctx, s.Org, s.Device)
	if err == nil && !in {
		err = errors.Join(errOut, d.desk.Revoke(ctx, s.Device))
	}
	return w, err
}

func (d *Door) sole(ctx context.Context) (Who, error) {
	org, person, err := d.Sole(ctx)
	if err != nil {
		return Who{}, err
	}
	roles, err := d.Journal.Roles(ctx, org, person)
	return Who{Org: org, Person: person, Roles: roles, Sole: true}, err
}

// cookieName is such that a browser takes it from this very host over TLS only.
func (d *Door) cookieName() string {
	if d.secure {
		return "__Host-sapwell"
	}
	return "sapwell"
}

// remember gives a browser its session.
func (d *Door) remember(w http.ResponseWriter, token string) {
	http.SetCookie(w, d.cookie(token, int(accounts.LongSession.Seconds())))
}

// forget takes it away.
func (d *Door) forget(w http.ResponseWriter) { http.SetCookie(w, d.cookie("", -1)) }

func (d *Door) cookie(value string, age int) *http.Cookie {
	return &http.Cookie{Name: d.cookieName(), Value: value, Path: "/", MaxAge: age, Secure: d.secure, HttpOnly: true, SameSite: http.SameSiteLaxMode}
}

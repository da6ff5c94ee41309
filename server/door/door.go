// Package door answers: who is asking, and may they come in?
//
// It stands before every route of the server. What is not named as open needs a
// session of a browser or the token of a device; who that is, and with which
// roles, stands in the request's context. Accounts only tie a sign-in to a person:
// roles, and whether a person or a device is still with us, are asked of the
// journal at every request, so that leaving and revoking hold at once.
package door

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"time"

	"sapwell/accounts"
	"sapwell/accounts/passkey"
	"sapwell/entries"
	"sapwell/journal"
)

// Journal is what the door asks of the journals.
type Journal interface {
	// Roles are those of a person of an organisation now; none for somebody who
	// has left or was never there.
	Roles(ctx context.Context, org, person journal.ID) ([]entries.Role, error)
	// Enrolled reports whether a device may write in the journal of an
	// organisation now.
	Enrolled(ctx context.Context, org journal.ID, device journal.Hash) (bool, error)
	// Enrol writes that a device is enrolled for a person. It is asked again after
	// a failure, and does not write twice. For a device that was revoked it returns
	// ErrRevoked.
	Enrol(ctx context.Context, org, person journal.ID, device journal.Hash, name string) error
	// People lists who is with an organisation now, by name.
	People(ctx context.Context, org journal.ID) ([]Person, error)
}

// ErrRevoked says that a device was revoked, which holds for ever.
var ErrRevoked = errors.New("this device was revoked")

// Person is somebody who can be invited.
type Person struct {
	ID   journal.ID
	Name string
}

// Config says what door it is. Journal, Keeper, Clock, Log and Site must be there.
type Config struct {
	Journal Journal
	Keeper  accounts.Keeper
	Clock   accounts.Clock
	Log     *slog.Logger
	// Site is how people reach the server: scheme, host and port.
	Site *url.URL
	// Loopback says that the listener takes connections of this machine only.
	Loopback bool
	// Sole opens the door without sign-in, for one user on loopback: who every
	// request acts for. nil demands accounts.
	Sole func(context.Context) (org, person journal.ID, err error)
	// Open are patterns of http.ServeMux that need no session, beside the door's own.
	Open []string
	// Live are patterns whose answers go on for as long as a page is open.
	Live []string
	// Proxies are the addresses of reverse proxies whose X-Forwarded-For is believed.
	Proxies []netip.Prefix
	// Fingerprint is that of the server's certificate now, for people to compare
	// with what a browser shows; nil or zero where a public authority vouches for it.
	Fingerprint func() journal.Hash
	// Authority is the certificate of the server's own authority, DER, for phones
	// to install; nil where there is none. Its fingerprint goes into QR codes.
	Authority []byte
	// App shows what needs a key of the device's own: taking up an invite for it. nil
	// where the app was not built; then a page says so.
	App http.Handler
	// Tiles is the origin of map tiles that pages may load from, such as
	// https://tiles.example; empty: none.
	Tiles string
	// Limits; zero fields mean the usual ones.
	Limits Limits
}

// Limits are how much the server takes on.
type Limits struct {
	Body      int64         // bytes of a request; 32 MiB
	Busy      int           // requests at once; 256
	LiveBusy  int           // live answers at once; 1000
	BodyGrace time.Duration // a body may be as long as this, and a second more for every 4 KiB of it; 30 s
	Answer    time.Duration // an answer that is not live may take so long; 10 min
}

// Door is the door of one server.
type Door struct {
	Config
	desk     *accounts.Desk
	passkeys *passkey.Checker // nil where there can be none
	secure   bool             // people reach us by TLS
	own      *http.ServeMux   // the door's routes
	open     *http.ServeMux   // the patterns that need no session
	live     *http.ServeMux
	cross    *http.CrossOriginProtection
	busy     chan struct{}
	liveBusy chan struct{}
	tries    *tries
	pages    *pages

	sessions  *pacer // requests of each session
	strangers *pacer // requests without a session, of each address
}

// New makes the door, or says why it would not be safe.
func New(c Config) (*Door, error) {
	if err := check(c); err != nil {
		return nil, err
	}
	pages, err := newPages()
	if err != nil {
		return nil, err
	}
	c.Limits = c.Limits.orUsual()
	d := &Door{
		Config:    c,
		desk:      accounts.NewDesk(c.Keeper, c.Clock),
		secure:    c.Site.Scheme == "https",
		cross:     http.NewCrossOriginProtection(),
		busy:      make(chan struct{}, c.Limits.Busy),
		liveBusy:  make(chan struct{}, c.Limits.LiveBusy),
		tries:     newTries(c.Clock),
		pages:     pages,
		sessions:  newPacer(c.Clock, sessionRate, sessionBurst),
		strangers: newPacer(c.Clock, strangerRate, strangerBurst),
	}
	d.passkeys, err = passkey.New(c.Keeper, d.desk, c.Clock, c.Site)
	if err != nil { // an address in numbers: then there are none, and the pages do not offer them
		c.Log.Info("passkeys are off", "reason", err.Error())
	}
	if err := d.cross.AddTrustedOrigin(c.Site.Scheme + "://" + c.Site.Host); err != nil {
		return nil, fmt.Errorf("address of the server: %w", err)
	}
	d.own = d.ownMux()
	if d.open, err = patterns(append(ownOpen(), c.Open...)); err != nil {
		return nil, fmt.Errorf("open routes: %w", err)
	}
	if d.live, err = patterns(c.Live); err != nil {
		return nil, fmt.Errorf("live routes: %w", err)
	}
	return d, nil
}

// check refuses what would let strangers in or secrets out.
func check(c Config) error {
	if c.Journal == nil || c.Keeper == nil || c.Clock == nil || c.Log == nil || c.Site == nil {
		return errors.New("door: want journal, keeper, clock, log and the address of the server")
	}
	if err := accounts.CheckSite(c.Site); err != nil {
		return err
	}
	switch {
	case c.Site.Scheme == "http" && !c.Loopback:
		return errors.New("the server listens beyond this machine without TLS: want a certificate, or a reverse proxy that has one and an address with https://")
	case c.Sole != nil && !c.Loopback:
		return errors.New("the server listens beyond this machine: want accounts, not one user without sign-in")
	case c.Sole != nil && len(c.Proxies) > 0:
		return errors.New("behind a reverse proxy: want accounts, not one user without sign-in")
	}
	return nil
}

func (l Limits) orUsual() Limits {
	usual := Limits{Body: 32 << 20, Busy: 256, LiveBusy: 1000, BodyGrace: 30 * time.Second, Answer: 10 * time.Minute}
	if l.Body == 0 {
		l.Body = usual.Body
	}
	if l.Busy == 0 {
		l.Busy = usual.Busy
	}
	if l.LiveBusy == 0 {
		l.LiveBusy = usual.LiveBusy
	}
	if l.BodyGrace == 0 {
		l.BodyGrace = usual.BodyGrace
	}
	if l.Answer == 0 {
		l.Answer = usual.Answer
	}
	return l
}

// patterns makes a mux that only tells whether a request is one of them.
func patterns(list []string) (mux *http.ServeMux, err error) {
	defer func() {
		if bad := recover(); bad != nil { // ServeMux panics on a pattern it cannot read
			err = fmt.Errorf("%v", bad)
		}
	}()
	mux = http.NewServeMux()
	for _, p := range list {
		mux.Handle(p, http.NotFoundHandler())
	}
	return mux, nil
}

func matches(mux *http.ServeMux, r *http.Request) bool {
	_, pattern := mux.Handler(r)
	return pattern != ""
}

// Wrap puts the door before all routes and serves its own. From the outside in: what every answer
// says to browsers; how many at once; how large and slow a body; that the request
// is meant for us and was sent from our own pages; who it is.
func (d *Door) Wrap(routes http.Handler) http.Handler {
	h := d.known(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if matches(d.own, r) {
			d.own.ServeHTTP(w, r)
			return
		}
		routes.ServeHTTP(w, r)
	}))
	h = d.sameSite(h)
	h = d.meantForUs(h)
	h = d.bounded(h)
	h = d.counted(h)
	return d.headed(h)
}

// Harden sets what a server must not leave to chance: how long a header may take
// and how large it may be, and how long an idle connection stays.
func Harden(s *http.Server) {
	s.ReadHeaderTimeout = 10 * time.Second
	s.IdleTimeout = 2 * time.Minute
	s.MaxHeaderBytes = 16 << 10
	s.HTTP2 = &http.HTTP2Config{MaxConcurrentStreams: 100, MaxReceiveBufferPerStream: 256 << 10, MaxReceiveBufferPerConnection: 1 << 20}
}

// Desk is where the server lets people in or shuts them out otherwise: when it
// revokes a device, when somebody leaves.
func (d *Door) Desk() *accounts.Desk { return d.desk }

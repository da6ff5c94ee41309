package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/netip"
	"net/url"
	"os"
	"os/signal"
	"syscall"
	"time"

	"sapwell/accounts"
	"sapwell/certs"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/server"
	"sapwell/server/door"
	"sapwell/store"
	"sapwell/web"
)

type serveCmd struct {
	where
	Listen  string   `default:"127.0.0.1:8787" help:"Address to listen at. Beyond this machine it demands accounts and TLS."`
	Site    string   `placeholder:"URL" help:"How people reach it, such as https://trees.example:8787, where that is not the address it listens at. It then demands accounts."`
	TLSCert string   `name:"tls-cert" placeholder:"FILE" help:"Certificate chain (PEM)."`
	TLSKey  string   `name:"tls-key" placeholder:"FILE" help:"Its key (PEM)."`
	TLSSelf bool     `name:"tls-self" help:"Make a certificate; its fingerprint is shown."`
	Proxy   []string `placeholder:"ADDRESS" help:"Reverse proxy whose word on addresses is believed; repeat it for more."`
	Tiles   string   `placeholder:"URL" help:"Map tiles, such as https://tiles.example/{z}/{x}/{y}.png: the map shows them, and pages may load from that server too."`
	Credit  string   `name:"tiles-credit" placeholder:"TEXT" help:"Whom the map names for its tiles."`
	Invite  string   `placeholder:"NAME" help:"Let this person choose a new password: for whoever has lost the only one."`
	Country string   `default:"US" help:"Country of a new journal (two capitals)."`
	Zone    string   `placeholder:"NAME" help:"Time zone of a new journal, such as America/Chicago (default: that of this machine, ${zone})."`
}

// Run serves until it is told to stop. The store is touched only when all else is
// right and the address is ours.
func (c serveCmd) Run(w world) error {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if err := w.checkFirst(c.Country, c.Zone); err != nil {
		return usage{err}
	}
	at, err := c.listen(w)
	if err != nil {
		return err
	}
	defer at.Close() //nolint:errcheck // the server closes it before
	s, err := c.create(ctx, w)
	if err != nil {
		return err
	}
	defer s.Close() //nolint:errcheck // what was acknowledged is on the disk
	if err := w.firstOf(ctx, s, c.Country, c.Zone); err != nil {
		return err
	}
	return c.serve(ctx, w, s, at)
}

// address is where a server listens and how people reach it.
type address struct {
	net.Listener
	site     *url.URL
	loopback bool // only this machine can
	proxies  []netip.Prefix
	shown    *certs.Source // nil without TLS
}

// listen takes the address, if it is a safe one.
func (c serveCmd) listen(w world) (address, error) {
	a := address{}
	host, port, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return a, usage{fmt.Errorf("--listen: %q: want an address and a port, such as 127.0.0.1:8787 or :8787", c.Listen)}
	}
	a.loopback = isLoopback(host)
	if a.site, err = c.reachedAt(w, host, port, a.loopback); err != nil {
		return a, usage{err}
	}
	if a.proxies, err = c.proxies(); err != nil {
		return a, usage{err}
	}
	a.Listener, err = net.Listen("tcp", c.Listen)
	if errors.Is(err, syscall.EADDRINUSE) {
		return a, errors.New("--listen: " + w.say.Say("serve.in_use", why.T("address", c.Listen)))
	}
	if err != nil {
		return a, fmt.Errorf("--listen: %w", err)
	}
	if port == "0" && c.Site == "" { // the system chose one
		_, port, _ = net.SplitHostPort(a.Addr().String()) // an address of its own is well formed
		a.site.Host = net.JoinHostPort(host, port)
	}
	if a.shown, err = c.certificate(a.site, w.now); err != nil {
		return a, errors.Join(err, a.Close())
	}
	return a, nil
}

// reachedAt is how people reach the server. Whatever goes over a wire is encrypted.
func (c serveCmd) reachedAt(w world, host, port string, loopback bool) (*url.URL, error) {
	secure := c.TLSSelf || c.TLSCert != ""
	if (c.TLSCert == "") != (c.TLSKey == "") || c.TLSSelf && c.TLSCert != "" {
		return nil, errors.New("--tls-cert and --tls-key belong together, and --tls-self is instead of them")
	}
	if c.Site != "" {
		site, err := url.Parse(c.Site)
		if err != nil || site.Path != "" && site.Path != "/" || accounts.CheckSite(site) != nil {
			return nil, fmt.Errorf("--site: %q: want https:// with a name and a port, such as https://trees.example:8787", c.Site)
		}
		if secure && site.Scheme == "http" {
			return nil, fmt.Errorf("--site: %q: the server has a certificate: want https://", c.Site)
		}
		if !secure && site.Scheme == "http" && !loopback {
			return nil, errors.New("--listen: " + w.say.Say("serve.no_tls", why.T("address", c.Listen)))
		}
		return &url.URL{Scheme: site.Scheme, Host: site.Host}, nil
	}
	switch {
	case !loopback && !secure:
		return nil, errors.New("--listen: " + w.say.Say("serve.no_tls", why.T("address", c.Listen)))
	case host == "" || net.ParseIP(host).IsUnspecified():
		return nil, errors.New("--site: " + w.say.Say("serve.no_site"))
	case secure:
		return &url.URL{Scheme: "https", Host: net.JoinHostPort(host, port)}, nil
	}
	return &url.URL{Scheme: "http", Host: net.JoinHostPort(host, port)}, nil
}

func isLoopback(host string) bool {
	if host == "localhost" {
		return true
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.IsLoopback()
}

func (c serveCmd) proxies() (all []netip.Prefix, err error) {
	for _, p := range c.Proxy {
		addr, err := netip.ParseAddr(p)
		if err != nil {
			return nil, fmt.Errorf("--proxy: %q: want an address, such as 192.0.2.4", p)
		}
		all = append(all, netip.PrefixFrom(addr, addr.BitLen()))
	}
	return all, nil
}

// serve answers at an address until ctx ends.
func (c serveCmd) serve(ctx context.Context, w world, s store.Store, at address) error {
	log := slog.New(slog.NewTextHandler(w.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	config, err := c.door(ctx, w, s, at, log)
	if err != nil {
		return err
	}
	options := server.Options{Store: s, Clock: w.now, Random: rand.Reader, Log: log, Version: version()}
	if app := web.New(web.Tiles{URL: c.Tiles, Credit: c.Credit}); app != nil { // else there is a plain page
		config.App, options.App = app, app
		config.Open = append(config.Open, app.Open()...)
	}
	d, err := door.New(config)
	if err != nil {
		return usage{err}
	}
	options.Door = d
	var secure *tls.Config
	if at.shown != nil {
		secure = at.shown.TLS()
	}
	if err := c.greet(ctx, w, s, d, config); err != nil {
		return err
	}
	return server.New(options).Serve(ctx, at, secure)
}

// certificate is what the server shows; nil without TLS.
func (c serveCmd) certificate(site *url.URL, now func() time.Time) (*certs.Source, error) {
	switch {
	case c.TLSCert != "":
		return certs.Given(c.TLSCert, c.TLSKey, now)
	case c.TLSSelf:
		if err := os.MkdirAll(c.folder(), 0o700); err != nil { // with PostgreSQL there may be none yet
			return nil, err
		}
		return certs.Own(c.folder(), []string{site.Hostname()}, now)
	}
	return nil, nil
}

// door is what the door must know. On this machine, with one organisation and
// nobody who has an account, it just opens.
func (c serveCmd) door(ctx context.Context, w world, s store.Store, at address, log *slog.Logger) (door.Config, error) {
	config := door.Config{
		Journal: server.NewJournals(s, w.now, rand.Reader), Keeper: s, Clock: w.now, Log: log,
		Site: at.site, Loopback: at.loopback, Proxies: at.proxies,
		Open: server.OpenRoutes(), Live: server.LiveRoutes(),
	}
	if c.TLSSelf {
		config.Authority, _ = at.shown.Authority()
		config.Fingerprint = func() journal.Hash { return at.shown.Fingerprint() }
	}
	var err error
	if config.Tiles, err = web.Origin(c.Tiles); err != nil {
		return config, usage{fmt.Errorf("--tiles: %w", err)}
	}
	accounts, err := s.CountAccounts(ctx)
	if err != nil {
		return config, err
	}
	orgs, err := s.Orgs(ctx)
	if at.loopback && c.Site == "" && len(c.Proxy) == 0 && accounts == 0 && len(orgs) == 1 {
		config.Sole = (&alone{store: s, journal: config.Journal, now: w.now}).who
	}
	return config, err
}

// greet says on stdout where the server is and who gets in.
func (c serveCmd) greet(ctx context.Context, w world, s store.Store, d *door.Door, config door.Config) error {
	say := func(key string, terms ...why.Term) { wrapTo(w.stdout, "", w.say.Say(key, terms...)) }
	say("serve.at", why.T("address", config.Site.String()))
	say("serve.store", why.T("store", c.name()))
	if config.Fingerprint != nil {
		say("serve.fingerprint")
		wrapTo(w.stdout, "  ", certs.Print(config.Fingerprint()))
	}
	if config.Sole != nil {
		say("serve.sole")
	} else if err := (inviter{w, s, d, config}).all(ctx, c.Invite); err != nil {
		return err
	}
	say("serve.stop_hint")
	return nil
}

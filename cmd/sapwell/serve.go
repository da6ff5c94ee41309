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
	"slices"
	"syscall"
	"time"

	"sapwell/accounts"
	"sapwell/certs"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server"
	"sapwell/server/door"
	"sapwell/store"
)

type serveCmd struct {
	where
	Listen  string   `default:"127.0.0.1:8787" help:"Address to listen at. Beyond this machine it demands accounts and TLS."`
	Site    string   `placeholder:"URL" help:"How people reach it, such as https://trees.example:8787, where that is not the address it listens at."`
	TLSCert string   `name:"tls-cert" placeholder:"FILE" help:"Certificate chain (PEM)."`
	TLSKey  string   `name:"tls-key" placeholder:"FILE" help:"Its key (PEM)."`
	TLSSelf bool     `name:"tls-self" help:"Make a certificate; its fingerprint is shown."`
	Proxy   []string `placeholder:"ADDRESS" help:"Reverse proxy whose word on addresses is believed; repeat it for more."`
	Country string   `default:"US" help:"Country of a new journal (two capitals)."`
}

// Run serves until it is told to stop.
func (c serveCmd) Run(w world) error {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	s, err := c.create(ctx)
	if err != nil {
		return err
	}
	defer s.Close()
	if err := w.firstOf(ctx, s, c.Country); err != nil {
		return err
	}
	return c.serve(ctx, w, s)
}

// serve listens and answers until ctx ends.
func (c serveCmd) serve(ctx context.Context, w world, s store.Store) error {
	site, loopback, err := c.site()
	if err != nil {
		return usage{err}
	}
	shown, err := c.certificate(site, w.now)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(w.stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))
	journals := server.NewJournals(s, w.now, rand.Reader)
	config, err := c.door(w, s, journals, site, loopback, shown, log)
	if err != nil {
		return usage{err}
	}
	d, err := door.New(config)
	if err != nil {
		return usage{err}
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return fmt.Errorf("--listen: %w", err)
	}
	var secure *tls.Config
	if shown != nil {
		secure = shown.TLS()
	}
	app := server.New(server.Options{Store: s, Clock: w.now, Random: rand.Reader, Log: log, Door: d, Version: version()})
	if err := c.greet(ctx, w, s, d, config, shown); err != nil {
		return errors.Join(err, listener.Close())
	}
	return app.Serve(ctx, listener, secure)
}

// greet says on stdout where the server is, and how the first person gets in.
func (c serveCmd) greet(ctx context.Context, w world, s store.Store, d *door.Door, config door.Config, shown *certs.Source) error {
	fmt.Fprintln(w.stdout, w.say.Say("serve.at", why.T("address", config.Site.String())))
	if config.Fingerprint != nil {
		fmt.Fprintln(w.stdout, w.say.Say("serve.fingerprint", why.T("fingerprint", certs.Print(shown.Fingerprint()))))
	}
	if config.Sole != nil {
		return nil
	}
	n, err := s.CountAccounts(ctx)
	if err != nil || n > 0 {
		return err
	}
	return c.firstInvite(ctx, w, s, d, config)
}

// firstInvite lets the first person of the office in, where nobody has an account.
func (c serveCmd) firstInvite(ctx context.Context, w world, s store.Store, d *door.Door, config door.Config) error {
	orgs, err := s.Orgs(ctx)
	if err != nil || len(orgs) == 0 {
		return err
	}
	person, err := firstOfOffice(ctx, config.Journal, orgs[0])
	if err != nil {
		return err
	}
	secret, _, err := d.Desk().Invite(ctx, orgs[0], person, accounts.ForAccount)
	if err != nil {
		return err
	}
	link := accounts.Link{Site: config.Site.Scheme + "://" + config.Site.Host, Sort: accounts.ForAccount, Secret: secret}
	if config.Fingerprint != nil {
		link.Fingerprint = config.Fingerprint()
	}
	fmt.Fprintln(w.stdout, w.say.Say("serve.first_invite"))
	fmt.Fprintln(w.stdout, "  "+link.String())
	return nil
}

// firstOfOffice is somebody who may do everything.
func firstOfOffice(ctx context.Context, j door.Journal, org journal.ID) (journal.ID, error) {
	people, err := j.People(ctx, org)
	if err != nil {
		return journal.ID{}, err
	}
	for _, p := range people {
		roles, err := j.Roles(ctx, org, p.ID)
		if err != nil {
			return journal.ID{}, err
		}
		if slices.Contains(roles, entries.Office) {
			return p.ID, nil
		}
	}
	return journal.ID{}, fmt.Errorf("organisation %s: nobody has the role office", org)
}

// sole is who works alone here: the only organisation and somebody of its office.
func sole(ctx context.Context, s store.Store, j door.Journal) (org, person journal.ID, err error) {
	orgs, err := s.Orgs(ctx)
	if err != nil {
		return org, person, err
	}
	if len(orgs) != 1 {
		return org, person, fmt.Errorf("the store keeps %d organisations: who works alone has one", len(orgs))
	}
	person, err = firstOfOffice(ctx, j, orgs[0])
	return orgs[0], person, err
}

// site is how people reach the server, and whether only this machine can.
func (c serveCmd) site() (*url.URL, bool, error) {
	host, port, err := net.SplitHostPort(c.Listen)
	if err != nil {
		return nil, false, fmt.Errorf("--listen: %q: want an address and a port, such as 127.0.0.1:8787 or :8787", c.Listen)
	}
	loopback := isLoopback(host)
	if c.Site != "" {
		site, err := url.Parse(c.Site)
		if err != nil {
			return nil, false, fmt.Errorf("--site: %w", err)
		}
		return site, loopback, nil
	}
	if !loopback && (host == "" || net.ParseIP(host).IsUnspecified()) {
		return nil, false, errors.New("--site: the server listens at every address of this machine; say by which address people reach it, such as --site https://192.0.2.7:8787")
	}
	scheme := "http"
	if c.TLSSelf || c.TLSCert != "" {
		scheme = "https"
	}
	return &url.URL{Scheme: scheme, Host: net.JoinHostPort(host, port)}, loopback, nil
}

func isLoopback(host string) bool {
	if host == "localhost" {
		return true
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.IsLoopback()
}

// certificate is what the server shows; nil without TLS.
func (c serveCmd) certificate(site *url.URL, now func() time.Time) (*certs.Source, error) {
	switch {
	case c.TLSCert != "" || c.TLSKey != "":
		if c.TLSCert == "" || c.TLSKey == "" || c.TLSSelf {
			return nil, usage{errors.New("--tls-cert and --tls-key belong together, and --tls-self is instead of them")}
		}
		return certs.Given(c.TLSCert, c.TLSKey, now)
	case c.TLSSelf:
		if err := os.MkdirAll(c.folder(), 0o700); err != nil {
			return nil, err
		}
		return certs.Own(c.folder(), []string{site.Hostname()}, now)
	}
	return nil, nil
}

// door is what the door must know. On this machine, with one organisation and
// nobody who has an account, it just opens.
func (c serveCmd) door(w world, s store.Store, j *server.Journals, site *url.URL, loopback bool, shown *certs.Source, log *slog.Logger) (door.Config, error) {
	config := door.Config{
		Journal: j, Keeper: s, Clock: w.now, Log: log, Site: site, Loopback: loopback,
		Open: server.OpenRoutes(), Live: server.LiveRoutes(),
	}
	for _, p := range c.Proxy {
		addr, err := netip.ParseAddr(p)
		if err != nil {
			return config, fmt.Errorf("--proxy: %q: want an address, such as 192.0.2.4", p)
		}
		config.Proxies = append(config.Proxies, netip.PrefixFrom(addr, addr.BitLen()))
	}
	accounts, err := s.CountAccounts(context.Background())
	if err != nil {
		return config, err
	}
	orgs, err := s.Orgs(context.Background())
	if err != nil {
		return config, err
	}
	if loopback && c.Site == "" && accounts == 0 && len(orgs) == 1 {
		config.Sole = func(ctx context.Context) (org, person journal.ID, err error) { return sole(ctx, s, j) }
	}
	if shown != nil && c.TLSSelf {
		config.Authority, _ = shown.Authority()
		config.Fingerprint = func() journal.Hash { return shown.Fingerprint() }
	}
	return config, nil
}

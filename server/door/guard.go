package door

import (
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"time"
)

// contentPolicy lets a page load from this server only: no inline script or style,
// no frame, no form to elsewhere. WebAssembly is the engine on the phone. Where there
// is an origin of map tiles, pictures and data may come from there too.
func contentPolicy(tiles string) string {
	if tiles != "" {
		tiles = " " + tiles
	}
	return "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; " +
		"img-src 'self' blob: data:" + tiles + "; font-src 'self'; connect-src 'self'" + tiles +
		"; manifest-src 'self'; worker-src 'self'; " +
		"object-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'"
}

// permissions are what pages may ask the browser for: camera for QR codes and
// photos, place of a tree, a screen that stays on, passkeys.
const permissions = "camera=(self), geolocation=(self), screen-wake-lock=(self), publickey-credentials-get=(self), " +
	"publickey-credentials-create=(self), microphone=(), payment=(), usb=(), serial=(), hid=(), midi=(), " +
	"display-capture=(), browsing-topics=()"

// headed says to browsers how narrowly to read every answer. A route that knows
// better, such as a photo that never changes, may set Cache-Control again.
func (d *Door) headed(next http.Handler) http.Handler {
	policy := contentPolicy(d.Tiles)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("Permissions-Policy", permissions)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if d.secure {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}

// counted serves only so many at once.
func (d *Door) counted(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		places, until := d.busy, time.Now().Add(d.Limits.Answer)
		if matches(d.live, r) {
			places, until = d.liveBusy, time.Time{}
		}
		_ = http.NewResponseController(w).SetWriteDeadline(until) // where it can be set
		select {
		case places <- struct{}{}:
			defer func() { <-places }()
			next.ServeHTTP(w, r)
		default:
			d.fail(w, r, &problem{status: http.StatusServiceUnavailable, code: "server.busy", wait: 1})
		}
	})
}

// minPace is how many bytes of a body must come each second, on the whole.
const minPace = 4 << 10

// bounded limits how large a body may be and how long it may take.
func (d *Door) bounded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.ContentLength > d.Limits.Body {
			w.Header().Set("Connection", "close")
			d.fail(w, r, errTooBig)
			return
		}
		if r.Body == nil || r.ContentLength == 0 {
			_ = http.NewResponseController(w).SetReadDeadline(time.Time{}) // nothing more is to come; the answer may take its time
		} else {
			body := &pacedBody{ReadCloser: http.MaxBytesReader(w, r.Body, d.Limits.Body), conn: http.NewResponseController(w), began: time.Now(), grace: d.Limits.BodyGrace}
			body.setDeadline()
			r.Body = body
		}
		next.ServeHTTP(w, r)
	})
}

// pacedBody moves the connection's deadline on as bytes come in.
type pacedBody struct {
	io.ReadCloser
	conn  *http.ResponseController
	began time.Time
	grace time.Duration
	read  int64
}

func (b *pacedBody) setDeadline() {
	_ = b.conn.SetReadDeadline(b.began.Add(b.grace + time.Duration(b.read)*time.Second/minPace)) // where it can be set
}

// Read reads on.
func (b *pacedBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.read += int64(n)
	switch {
	case errors.Is(err, io.EOF):
		_ = b.conn.SetReadDeadline(time.Time{}) // a live answer may now take its time
	case errors.Is(err, os.ErrDeadlineExceeded):
		err = fmt.Errorf("%w: %w", errTooSlow, err)
	case err == nil:
		b.setDeadline()
	}
	return n, err
}

// meantForUs refuses what was meant for another host. On loopback a page from
// anywhere can make a browser ask us, under a name that it points at this machine:
// only names of this machine itself are answered. A header that a proxy adds says
// that somebody opened the sole user's server to others.
func (d *Door) meantForUs(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case d.Loopback && !d.ours(r.Host):
			d.fail(w, r, &problem{status: http.StatusMisdirectedRequest, code: "request.other_host"})
		case d.Sole != nil && (forwarded(r.Header) || !fromHere(r.RemoteAddr)):
			d.fail(w, r, &problem{status: http.StatusForbidden, code: "request.not_local"})
		default:
			next.ServeHTTP(w, r)
		}
	})
}

// ours reports whether a Host header names this machine, or the site where that
// is not the sole user's.
func (d *Door) ours(host string) bool {
	if d.Sole == nil && host == d.Site.Host {
		return true
	}
	name := (&url.URL{Host: host}).Hostname()
	return name == "localhost" || name == "127.0.0.1" || name == "::1"
}

func forwarded(h http.Header) bool {
	for _, name := range []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip", "Via"} {
		if _, there := h[name]; there {
			return true
		}
	}
	return false
}

func fromHere(remote string) bool {
	host, _, err := net.SplitHostPort(remote)
	if err != nil {
		return false
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.Unmap().IsLoopback()
}

// sameSite refuses what another site's page sends, unless it only reads.
func (d *Door) sameSite(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := d.cross.Check(r); err != nil {
			d.fail(w, r, &problem{status: http.StatusForbidden, code: "request.cross_site"})
			return
		}
		next.ServeHTTP(w, r)
	})
}

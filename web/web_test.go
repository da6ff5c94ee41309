package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"sapwell/internal/outside"
)

func gzipped(text string) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	w.Write([]byte(text))
	w.Close()
	return b.String()
}

// built is a build in small.
func built() fstest.MapFS {
	files := fstest.MapFS{".gitkeep": {}}
	for name, text := range map[string]string{
		"index.html": "shell", "index.html.br": "shell br", "index.html.gz": "shell gz", "sw.js": "worker",
		"manifest.webmanifest":    "{}",
		"assets/main-a1b2c3d4.js": "script", "assets/main-a1b2c3d4.js.br": "script br",
		"assets/engine-a1b2c3d4.wasm.br": "asm br", "assets/engine-a1b2c3d4.wasm.gz": gzipped("\x00asm"),
		"icon.svg.br": "svg br", "icon.svg.gz": gzipped("<svg/>"),
	} {
		files[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return files
}

func ask(a *App, path string, header ...string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(http.MethodGet, path, nil)
	for i := 0; i < len(header); i += 2 {
		r.Header.Add(header[i], header[i+1])
	}
	w := httptest.NewRecorder()
	a.ServeHTTP(w, r)
	return w
}

func TestServe(t *testing.T) {
	const hashed, anew = "public, max-age=31536000, immutable", "no-cache"
	a := newApp(built(), Tiles{})
	for _, c := range []struct {
		path, takes              string
		body, kind, coding, keep string
	}{
		{"/", "gzip, deflate, br, zstd", "shell br", "text/html; charset=utf-8", "br", anew},
		{"/", "gzip", "shell gz", "text/html; charset=utf-8", "gzip", anew},
		{"/", "", "shell", "text/html; charset=utf-8", "", anew},
		{"/", "br;q=0, gzip;q=0.5", "shell gz", "text/html; charset=utf-8", "gzip", anew},
		{"/", "br;q=0.0, identity", "shell", "text/html; charset=utf-8", "", anew},
		{"/visit/0190/tree/7", "br", "shell br", "text/html; charset=utf-8", "br", anew},
		{"/index.html", "", "shell", "text/html; charset=utf-8", "", anew},
		{"/sw.js", "br", "worker", "text/javascript; charset=utf-8", "", anew},
		{"/manifest.webmanifest", "", "{}", "application/manifest+json", "", anew},
		{"/assets/main-a1b2c3d4.js", "br", "script br", "text/javascript; charset=utf-8", "br", hashed},
		{"/assets/engine-a1b2c3d4.wasm", "br, gzip", "asm br", "application/wasm", "br", hashed},
		{"/assets/engine-a1b2c3d4.wasm", "gzip", gzipped("\x00asm"), "application/wasm", "gzip", hashed},
		{"/assets/engine-a1b2c3d4.wasm", "", "\x00asm", "application/wasm", "", hashed},
		{"/icon.svg", "identity", "<svg/>", "image/svg+xml", "", anew},
	} {
		w := ask(a, c.path, "Accept-Encoding", c.takes)
		h := w.Header()
		if w.Code != http.StatusOK || w.Body.String() != c.body || h.Get("Content-Type") != c.kind ||
			h.Get("Content-Encoding") != c.coding || h.Get("Cache-Control") != c.keep || h.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s for %q: %d %q %v", c.path, c.takes, w.Code, w.Body, h)
		}
	}
}

// What is no screen is not answered as if it were one: a browser that holds an old
// page would take it for a script.
func TestServeNothing(t *testing.T) {
	a := newApp(built(), Tiles{})
	for _, path := range []string{"/assets/main-00000000.js", "/assets/none", "/none.js", "/index.html.br", "/icon.svg.gz", "/.gitkeep"} {
		if w := ask(a, path, "Accept-Encoding", "br"); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d %q, want 404", path, w.Code, w.Body)
		}
	}
}

// What has not changed is not sent again, and each packing has a name of its own.
func TestServeAgain(t *testing.T) {
	a := newApp(built(), Tiles{})
	first := ask(a, "/", "Accept-Encoding", "br").Header().Get("ETag")
	if first == "" || first == ask(a, "/").Header().Get("ETag") {
		t.Errorf("ETag %s: want one for each packing", first)
	}
	if w := ask(a, "/", "Accept-Encoding", "br", "If-None-Match", first); w.Code != http.StatusNotModified || w.Body.Len() > 0 {
		t.Errorf("again: %d, %q", w.Code, w.Body)
	}
}

// The origin of tiles is what stands in a policy: RFC 6454, section 6.2, from memory.
func TestTiles(t *testing.T) {
	for address, want := range map[string]string{
		"":                                      "",
		"https://tiles.example/{z}/{x}/{y}.png": "https://tiles.example",
		"http://127.0.0.1:8080/t/{z}/{x}/{y}":   "http://127.0.0.1:8080",
	} {
		if got, err := Origin(address); err != nil || got != want {
			t.Errorf("%q: %q, %v, want %q", address, got, err, want)
		}
	}
	for _, address := range []string{
		"tiles.example/{z}/{x}/{y}", "https://tiles.example/{z}/{x}", "ftp://tiles.example/{z}/{x}/{y}", "https:///{z}/{x}/{y}",
		"https://*/{z}/{x}/{y}", "https://a.example;script-src/{z}/{x}/{y}", "https://a:b@tiles.example/{z}/{x}/{y}", "javascript:{z}{x}{y}",
	} {
		if got, err := Origin(address); err == nil || !strings.Contains(err.Error(), "{z}") {
			t.Errorf("%q: %q, %v, want none", address, got, err)
		}
	}
	if w := ask(newApp(built(), Tiles{}), "/tiles.json"); w.Code != http.StatusOK || strings.TrimSpace(w.Body.String()) != `{"url":""}` {
		t.Errorf("no tiles: %d %s", w.Code, w.Body)
	}
	w := ask(newApp(built(), Tiles{"https://tiles.example/{z}/{x}/{y}.png", "somebody"}), "/tiles.json")
	if want := `{"url":"https://tiles.example/{z}/{x}/{y}.png","credit":"somebody"}`; strings.TrimSpace(w.Body.String()) != want || w.Header().Get("Content-Type") != "application/json" {
		t.Errorf("%s, want %s", w.Body, want)
	}
	outside.Ran(t, "RFC 6454, section 6.2 (from memory)", "the origin of an address")
}

func TestNotBuilt(t *testing.T) {
	if newApp(fstest.MapFS{".gitkeep": {}}, Tiles{}) != nil {
		t.Error("an app of nothing")
	}
}

// What needs no session is a pattern that the mux takes, and no more than the app.
func TestOpen(t *testing.T) {
	open := newApp(built(), Tiles{}).Open()
	mux := http.NewServeMux()
	for _, p := range open {
		mux.Handle(p, http.NotFoundHandler())
	}
	for path, want := range map[string]bool{
		"/": true, "/today": true, "/visit/1/tree/2": true, "/sw.js": true, "/icon.svg": true, "/assets/x.js": true,
		"/api/trees": false, "/account": false, "/invite": false, "/metrics": false, "/nowhere": false, "/api": false,
	} {
		_, pattern := mux.Handler(httptest.NewRequest(http.MethodGet, path, nil))
		if (pattern != "") != want {
			t.Errorf("%s: open by %q, want %v", path, pattern, want)
		}
	}
	if slices.ContainsFunc(open, func(p string) bool { return strings.Contains(p, ".br") }) {
		t.Errorf("%v: packed files have no address", open)
	}
}

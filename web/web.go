// Package web answers: what is the app made of, and how does a browser get it?
//
// It holds what `make web` built in dist. Where nothing was built there is no App,
// and the server shows its plain page instead.
package web

import (
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"
)

//go:embed all:dist
var dist embed.FS

const shell = "index.html"

// pages are the first parts of the addresses of screens. A screen at another address
// is shown too, but only to who is signed in: the door stands before all else.
var pages = [...]string{
	"devices", "export", "gallery", "import", "journal", "labels", "map", "people", "plans", "records",
	"settings", "start", "stock", "sync", "today", "trees", "visit",
}

// types are those of all files that a build makes. The tables of the machine we run
// on may say otherwise, and WebAssembly must be called so.
var types = map[string]string{
	".css": "text/css; charset=utf-8", ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8",
	".mjs": "text/javascript; charset=utf-8", ".json": "application/json", ".png": "image/png", ".svg": "image/svg+xml",
	".wasm": "application/wasm", ".webmanifest": "application/manifest+json", ".woff2": "font/woff2",
}

// App serves the app. It changes nothing and is safe for use by many at once.
//
// A build keeps most files only as they were packed, with brotli and with gzip: the
// plain copies would make the program larger by a half, and no browser asks for them.
type App struct {
	files fs.FS
	sums  map[string]string // of each file as it lies there
	tiles Tiles
}

// New is the app as it was built, with these tiles under its map; nil if it was not.
func New(tiles Tiles) *App {
	files, err := fs.Sub(dist, "dist")
	if err != nil {
		return nil
	}
	return newApp(files, tiles)
}

func newApp(files fs.FS, tiles Tiles) *App {
	a := &App{files: files, sums: map[string]string{}, tiles: tiles}
	err := fs.WalkDir(files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == ".gitkeep" {
			return err
		}
		text, err := fs.ReadFile(files, name)
		sum := sha256.Sum256(text)
		a.sums[name] = hex.EncodeToString(sum[:16])
		return err
	})
	if err != nil || !a.has(shell) {
		return nil
	}
	return a
}

// has reports whether there is a file of this name, plain or packed.
func (a *App) has(name string) bool {
	return a.sums[name] != "" || a.sums[name+".gz"] != ""
}

// Open lists the patterns that need no session: nothing of the app is secret, and a
// phone must be able to start it before anybody has signed in.
func (a *App) Open() []string {
	open := []string{"GET /{$}", "GET /assets/", "GET /" + tilesFile}
	for name := range a.sums {
		name = strings.TrimSuffix(strings.TrimSuffix(name, ".gz"), ".br")
		if !strings.Contains(name, "/") && name != shell {
			open = append(open, "GET /"+name)
		}
	}
	for _, p := range pages {
		open = append(open, "GET /"+p, "GET /"+p+"/")
	}
	slices.Sort(open)
	return slices.Compact(open)
}

func isPacked(name string) bool {
	return strings.HasSuffix(name, ".br") || strings.HasSuffix(name, ".gz")
}

// ServeHTTP serves a file of the app. An address that is no file is a screen, which
// the app itself finds: so it is answered with the app.
func (a *App) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(path.Clean(r.URL.Path), "/")
	if name == tilesFile {
		a.sendTiles(w, r)
		return
	}
	if !a.has(name) || isPacked(name) {
		if path.Ext(name) != "" || strings.HasPrefix(name, "assets/") {
			http.NotFound(w, r)
			return
		}
		name = shell
	}
	h := w.Header()
	h.Set("Content-Type", typeOf(name))
	h.Set("Cache-Control", "no-cache") // it is asked for anew, and sent only if it changed
	if strings.HasPrefix(name, "assets/") {
		h.Set("Cache-Control", "public, max-age=31536000, immutable") // its name holds its hash
	}
	h.Set("Vary", "Accept-Encoding")
	if name != shell {
		// What a page may do is said with the page; a phone counts every byte.
		for _, said := range [...]string{"Permissions-Policy", "Cross-Origin-Opener-Policy", "X-Frame-Options"} {
			h.Del(said)
		}
	}
	a.send(w, r, name)
}

func typeOf(name string) string {
	if t, ok := types[path.Ext(name)]; ok {
		return t
	}
	return "application/octet-stream"
}

// send sends a file as it was packed at the build, if the browser takes that.
func (a *App) send(w http.ResponseWriter, r *http.Request, name string) {
	for _, p := range [...]struct{ coding, ext string }{{"br", ".br"}, {"gzip", ".gz"}} {
		if a.sums[name+p.ext] != "" && takes(r, p.coding) {
			name += p.ext
			w.Header().Set("Content-Encoding", p.coding)
			break
		}
	}
	if a.sums[name] == "" {
		a.unpack(w, r, name)
		return
	}
	f, err := a.files.Open(name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	defer f.Close()
	content, ok := f.(io.ReadSeeker)
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("ETag", `"`+a.sums[name]+`"`)
	http.ServeContent(w, r, "", time.Time{}, content)
}

// unpack sends what is there only packed to who cannot unpack it.
func (a *App) unpack(w http.ResponseWriter, r *http.Request, name string) {
	f, err := a.files.Open(name + ".gz")
	if err != nil {
		http.NotFound(w, r)
		return
	}
	defer f.Close()
	plain, err := gzip.NewReader(f)
	if err != nil {
		http.Error(w, http.StatusText(http.StatusInternalServerError), http.StatusInternalServerError)
		return
	}
	w.Header().Set("ETag", `"`+a.sums[name+".gz"]+`-plain"`)
	if r.Method != http.MethodHead {
		_, _ = io.Copy(w, plain) // who went away needs no answer
	}
}

// takes reports whether a browser says that it unpacks this coding.
func takes(r *http.Request, coding string) bool {
	for part := range strings.SplitSeq(strings.Join(r.Header.Values("Accept-Encoding"), ","), ",") {
		name, params, err := mime.ParseMediaType("coding/" + strings.TrimSpace(part))
		if err == nil && name == "coding/"+coding {
			return strings.Trim(params["q"], "0.") != "" || params["q"] == ""
		}
	}
	return false
}

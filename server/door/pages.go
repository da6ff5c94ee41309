package door

import (
	"bytes"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"net/http"
	"strings"
	"time"

	"github.com/skip2/go-qrcode"

	"sapwell/accounts"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/journal"
	"sapwell/words"
)

//go:embed pages
var files embed.FS

// pages are the few that must be there before the app: signing in, joining, one's
// account, inviting.
type pages struct {
	templates map[string]*template.Template
	printers  map[string]*words.Printer
}

// pageNames are the pages; each is pages/<name>.html within pages/frame.html.
var pageNames = []string{"signin", "join", "enrol", "account", "invite"}

func newPages() (*pages, error) {
	p := &pages{templates: map[string]*template.Template{}, printers: map[string]*words.Printer{}}
	for _, name := range pageNames {
		t, err := template.ParseFS(files, "pages/frame.html", "pages/"+name+".html")
		if err != nil {
			return nil, err
		}
		p.templates[name] = t
	}
	for _, lang := range words.Languages() {
		printer, err := words.New(lang, quantity.Style{})
		if err != nil {
			return nil, err
		}
		p.printers[lang] = printer
	}
	return p, nil
}

// fallback is spoken with whoever asks for nothing that there is.
const fallback = "en"

// asked is the first language of Accept-Language that there is; browsers name the
// one they like best first.
func (p *pages) asked(r *http.Request) string {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Language"), ",") {
		tag, _, _ := strings.Cut(part, ";")
		lang, _, _ := strings.Cut(strings.TrimSpace(tag), "-")
		if lang = strings.ToLower(lang); p.printers[lang] != nil {
			return lang
		}
	}
	return fallback
}

func (p *pages) problem(lang string, of *problem) string {
	return p.printers[lang].Say("door."+of.code, why.T("seconds", int(of.wait)))
}

// view is what a page is filled with.
type view struct {
	Lang     string
	Problem  string // why the form came back
	Passkeys bool   // there can be some here

	Login string // of the account
	Keys  []keyView

	People []Person // who can be invited
	Invite *inviteView

	printer *words.Printer
}

// Say is the text of that key.
func (v view) Say(key string) string { return v.printer.Say("door.page." + key) }

// Day is the day of a moment.
func (v view) Day(ms int64) string { return time.UnixMilli(ms).UTC().Format("2006-01-02") }

// inviteView is an invite just made.
type inviteView struct {
	Device      bool
	Link        string
	QR          template.URL // a picture
	Fingerprint string       // of the server's certificate
	Authority   string       // and of its authority's
}

// show is the route of a page.
func show(name string) func(*Door, http.ResponseWriter, *http.Request) error {
	return func(d *Door, w http.ResponseWriter, r *http.Request) error {
		d.page(w, r, name, view{}, nil)
		return nil
	}
}

// enrolPage is where the link of an invite for a device leads. The device makes its key
// itself, which takes the app.
func (d *Door) enrolPage(w http.ResponseWriter, r *http.Request) error {
	if d.App == nil {
		return show("enrol")(d, w, r)
	}
	d.App.ServeHTTP(w, r)
	return nil
}

// page shows a page, with what was wrong with its form.
func (d *Door) page(w http.ResponseWriter, r *http.Request, name string, v view, wrong error) {
	v.Lang = d.pages.asked(r)
	v.printer = d.pages.printers[v.Lang]
	v.Passkeys = d.passkeys != nil
	status := http.StatusOK
	if wrong != nil {
		p := d.sort(r, wrong)
		status, v.Problem = p.status, d.pages.problem(v.Lang, p)
	}
	var b bytes.Buffer
	err := d.fill(r, name, &v)
	if err == nil {
		err = d.pages.templates[name].ExecuteTemplate(&b, "frame", v)
	}
	if err != nil {
		d.fail(w, r, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Content-Language", v.Lang)
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes()) // who does not read it has gone
}

// fill looks up what a page shows of whoever asks.
func (d *Door) fill(r *http.Request, name string, v *view) (err error) {
	who, _ := From(r.Context())
	switch name {
	case "account":
		if who.Account == "" {
			return errRights
		}
		a, err := d.Keeper.AccountByID(r.Context(), who.Account)
		if err != nil {
			return err
		}
		v.Login = a.Login
		if v.Passkeys {
			v.Keys, err = d.keysOf(r, who)
		}
		return err
	case "invite":
		v.People, err = d.Journal.People(r.Context(), who.Org)
	}
	return err
}

// showInvite shows the link of an invite once, as a QR code too.
func (d *Door) showInvite(w http.ResponseWriter, r *http.Request, link accounts.Link) error {
	qr, err := qrOf(link)
	if err != nil {
		return err
	}
	v := &inviteView{
		Device:      link.Sort == accounts.ForDevice,
		Link:        link.String(),
		QR:          template.URL(qr), //nolint:gosec // a picture we drew
		Fingerprint: asShown(d.shown()),
	}
	if d.Authority != nil {
		v.Authority = asShown(d.pinned())
	}
	d.page(w, r, "invite", view{Invite: v}, nil)
	return nil
}

// qrOf draws a link as a QR code: the address of a picture that is its own file.
func qrOf(link accounts.Link) (string, error) {
	png, err := qrcode.Encode(link.String(), qrcode.Medium, -5)
	return "data:image/png;base64," + base64.StdEncoding.EncodeToString(png), err
}

// asShown writes a fingerprint as browsers and openssl show it, so that people can
// compare: AB:CD:…
func asShown(h journal.Hash) string {
	if h == (journal.Hash{}) {
		return ""
	}
	return strings.ReplaceAll(fmt.Sprintf("% X", h[:]), " ", ":")
}

// file is the script, the style or the picture of the pages, which the content
// policy wants apart from them.
func (d *Door) file(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("file")
	if name != "door.js" && name != "door.css" && name != "door.svg" {
		return errMissing
	}
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeFileFS(w, r, files, "pages/"+name)
	return nil
}

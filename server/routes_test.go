package server

import (
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"testing"

	"sapwell/actions"
	"sapwell/entries"
	"sapwell/journal"
)

// try is how a route is asked in the table: with the path and what is sent.
type try struct {
	path string // "": that of the route
	sent string
	kind string // of what is sent; "": JSON
}

// none is an id that is nobody's.
const none = "018bcfe5-6800-7000-8000-000000000000"

// tries says how each route is asked. A route that is not here fails the test below.
var tries = map[string]try{
	"GET /api/grounds":                      {},
	"GET /api/grounds/{id}":                 {path: "/api/grounds/$grounds"},
	"GET /api/grounds/{id}/entries":         {path: "/api/grounds/$grounds/entries"},
	"GET /api/trees":                        {},
	"GET /api/trees/{id}":                   {path: "/api/trees/$tree"},
	"GET /api/trees/{id}/entries":           {path: "/api/trees/$tree/entries"},
	"GET /api/labels":                       {},
	"GET /api/labels/{id}":                  {path: "/api/labels/$label"},
	"GET /api/labels/{id}/entries":          {path: "/api/labels/$label/entries"},
	"GET /api/lots":                         {},
	"GET /api/lots/{id}":                    {path: "/api/lots/$lot"},
	"GET /api/lots/{id}/entries":            {path: "/api/lots/$lot/entries"},
	"GET /api/visits":                       {},
	"GET /api/visits/{id}":                  {path: "/api/visits/$visit"},
	"GET /api/visits/{id}/entries":          {path: "/api/visits/$visit/entries"},
	"GET /api/people":                       {},
	"GET /api/people/{id}":                  {path: "/api/people/$app"},
	"GET /api/people/{id}/entries":          {path: "/api/people/$app/entries"},
	"GET /api/devices":                      {},
	"GET /api/devices/{id}":                 {path: "/api/devices/$device"},
	"GET /api/devices/{id}/entries":         {path: "/api/devices/$device/entries"},
	"GET /api/bags":                         {},
	"GET /api/bags/{id}":                    {path: "/api/bags/$bag"},
	"GET /api/bags/{id}/entries":            {path: "/api/bags/$bag/entries"},
	"GET /api/orgs":                         {},
	"GET /api/orgs/{id}":                    {path: "/api/orgs/$org"},
	"GET /api/orgs/{id}/entries":            {path: "/api/orgs/$org/entries"},
	"GET /api/round":                        {},
	"GET /api/entries/{id}":                 {path: "/api/entries/$plan"},
	"GET /api/entries/{id}/proof":           {path: "/api/entries/$plan/proof"},
	"GET /api/head":                         {},
	"GET /api/aside":                        {},
	"GET /api/consistency":                  {path: "/api/consistency?from=1&to=2"},
	"GET /api/journal":                      {},
	"GET /api/pack":                         {},
	"GET /api/register":                     {},
	"GET /api/entries":                      {},
	"GET /api/trees.csv":                    {},
	"GET /api/live":                         {},
	"GET /api/records":                      {},
	"GET /api/visits/{id}/records":          {path: "/api/visits/$visit/records"},
	"GET /api/visits/{id}/records/{record}": {path: "/api/visits/$visit/records/$record"},
	"GET /api/due":                          {},
	"GET /api/due.ics":                      {},
	"GET /api/papers.zip":                   {},
	"POST /api/sync":                        {sent: `{"offer":[]}`},
	"POST /api/photos":                      {sent: picture, kind: "image/jpeg"},
	"PUT /api/photos/{sha256}":              {path: "/api/photos/$photo", sent: picture, kind: "image/jpeg"},
	"GET /api/photos/{sha256}":              {path: "/api/photos/$photo"},
	"GET /healthz":                          {},
	"GET /readyz":                           {},
	"GET /metrics":                          {},
	"GET /openapi.json":                     {},
	"GET /style.css":                        {},
	"GET /{$}":                              {path: "/"},
	"GET /plain":                            {},
	"GET /api/backup":                       {},
	"POST /api/restore":                     {sent: "no backup", kind: "application/gzip"},
}

// deedTries are inputs of deeds that say something of things of the first firm. Who
// may do a deed is the table of package actions; here it is tried that a door leads
// nobody round it.
func deedTries() map[string]try {
	all := map[string]try{}
	for _, d := range actions.Deeds() {
		all["POST /api/deeds/"+d.Name] = try{sent: `{"tree":"$tree","visit":"$visit","lot":"$lot","person":"$app","grounds":"$grounds","of":"$plan"}`}
	}
	return all
}

// furnished is a house whose first firm has one of each thing.
func furnished(t *testing.T) *house {
	t.Helper()
	h := newHouse(t)
	f := h.firm
	h.day(f)
	f.name("device", deviceOf(f.phone).String(), "photo", sum([]byte(picture)).String())
	var installed struct{ Units []journal.ID }
	h.must(json.Unmarshal(h.do(f, "app", "tree.install", `{"visit":"$visit","tree":"$tree","lot":"$lot","marks":[1]}`).Result, &installed))
	f.name("unit", installed.Units[0].String())
	h.do(f, "app", "unit.lift", `{"visit":"$visit","unit":"$unit","left":"1 mL"}`)
	f.name("record", h.recordsOf(f)[0].Record)
	f.name("bag", h.made(f, "boss", "bag.seal", `{"visits":["$visit"],"mark":"W-1","units":1}`).String())
	h.ask(f, question{method: "PUT", path: "/api/photos/$photo", sent: []byte(picture), header: http.Header{"Content-Type": {"image/jpeg"}}, who: "boss"})
	return h
}

func (h *house) try(f *firm, r Route, who string) (*http.Response, []byte) {
	h.t.Helper()
	q := tried(r)
	q.who = who
	return h.ask(f, q)
}

func tried(r Route) question {
	name := r.Method + " " + r.Path
	x, ok := tries[name]
	if !ok {
		x = deedTries()[name]
	}
	if x.path == "" {
		x.path = r.Path
	}
	if x.kind == "" {
		x.kind = "application/json"
	}
	q := question{method: r.Method, path: x.path, header: http.Header{}}
	if x.sent != "" {
		q.sent = []byte(x.sent)
		q.header.Set("Content-Type", x.kind)
	}
	return q
}

func TestEveryRouteIsTried(t *testing.T) {
	deeds := deedTries()
	for _, r := range bare().Routes() {
		name := r.Method + " " + r.Path
		if _, ok := tries[name]; !ok && deeds[name].sent == "" {
			t.Errorf("%s is in no table: say in routes_test.go how it is asked", name)
		}
	}
}

// Nobody gets in anywhere without a session, but where it says so.
func TestWithoutASession(t *testing.T) {
	h := furnished(t)
	for _, r := range h.server.Routes() {
		res, body := h.try(h.firm, r, "")
		switch {
		case slices.Contains(OpenRoutes(), r.Method+" "+r.Path):
			if res.StatusCode != http.StatusOK {
				t.Errorf("%s %s: %d %s", r.Method, r.Path, res.StatusCode, body)
			}
		default:
			h.problem(r.Method+" "+r.Path, res, body, http.StatusUnauthorized, "session.none")
		}
	}
}

// Somebody of another organisation finds nothing of the first one: whatever names a
// thing of it is not found, and lists and files show their own only.
func TestAnotherOrganisation(t *testing.T) {
	h := furnished(t)
	theirs := []string{h.firm.with("$tree"), h.firm.with("$visit"), h.firm.with("$app"), h.firm.with("$org"), h.firm.with("$plan"), "Example Park", "Bo Muster\",\"phone"}
	for _, r := range h.server.Routes() {
		if r.Path == "/api/live" || strings.HasPrefix(r.Path, "/api/photos") && r.Method != http.MethodGet {
			continue // a stream: see TestLive; a photo of their own
		}
		q := tried(r)
		q.path, q.sent = h.firm.with(q.path), []byte(h.firm.with(string(q.sent)))
		if len(q.sent) == 0 {
			q.sent = nil
		}
		for _, who := range []string{"boss", "phone"} {
			q.who = who
			res, body := h.ask(h.other, q)
			if strings.Contains(r.Path, "{id}") && res.StatusCode != http.StatusNotFound {
				t.Errorf("%s %s as %s of another organisation: %d %s, want 404", r.Method, r.Path, who, res.StatusCode, body)
			}
			if r.Path == "/api/photos/{sha256}" && r.Method == http.MethodGet && res.StatusCode != http.StatusNotFound {
				t.Errorf("a photo of another organisation: %d", res.StatusCode)
			}
			if strings.HasPrefix(r.Path, "/api/deeds/") && res.StatusCode < 400 {
				t.Errorf("%s as %s of another organisation was done: %s", r.Path, who, body)
			}
			for _, secret := range theirs {
				if res.StatusCode < 300 && strings.Contains(string(body), secret) {
					t.Errorf("%s %s as %s of another organisation shows %s", r.Method, r.Path, who, secret)
				}
			}
		}
	}
	var own struct{ Items []struct{ ID string } }
	h.get(h.other, "boss", "/api/people", &own)
	if len(own.Items) != 4 {
		t.Errorf("%d people, want their own 4", len(own.Items))
	}
}

// What each role gets into, by the roles of the deeds and this: an inspector reads
// all but the backup and writes nothing; a trainee works and does not carry the journal away.
func TestRoles(t *testing.T) {
	h := furnished(t)
	for _, who := range []string{"boss", "app", "train", "look", "phone"} {
		roles := map[string][]entries.Role{
			"boss": {entries.Office, entries.Applicator}, "app": {entries.Applicator}, "train": {entries.Trainee}, "look": {entries.Inspector}, "phone": {entries.Applicator},
		}[who]
		for _, r := range h.server.Routes() {
			if r.Path == "/api/live" {
				continue
			}
			res, body := h.try(h.firm, r, who)
			barred := res.StatusCode == http.StatusForbidden
			if want := !admits(r, who, roles); barred != want {
				t.Errorf("%s %s as %s: %d %s, barred %v, want %v", r.Method, r.Path, who, res.StatusCode, body, barred, want)
			}
			if who == "look" && r.Method != http.MethodGet && !barred {
				t.Errorf("an inspector may %s %s", r.Method, r.Path)
			}
			if who == "look" && r.Method == http.MethodGet && !barred && res.StatusCode != http.StatusOK {
				t.Errorf("an inspector may not read %s: %d %s", r.Path, res.StatusCode, body)
			}
		}
	}
}

// admits says of a route who gets in, typed once more apart from the code.
func admits(r Route, who string, roles []entries.Role) bool {
	switch {
	case r.Path == "/api/sync":
		return who == "phone"
	case r.Path == "/api/journal" || r.Path == "/api/aside" || r.Path == "/api/papers.zip":
		return who == "boss" || who == "look"
	case r.Path == "/api/backup" || r.Path == "/api/restore":
		return who == "boss"
	case strings.HasPrefix(r.Path, "/api/photos") && r.Method != http.MethodGet:
		return who != "look"
	case strings.HasPrefix(r.Path, "/api/deeds/"):
		i := slices.IndexFunc(actions.Deeds(), func(d actions.Deed) bool { return r.Path == "/api/deeds/"+d.Name })
		return actions.Deeds()[i].May(roles)
	}
	return true
}

// Tricks in paths lead to no file and no other thing.
func TestPathTricks(t *testing.T) {
	h := furnished(t)
	for _, path := range []string{
		"/api/trees/..%2f..%2fetc%2fpasswd", "/api/trees/../people", "/api/trees/%2e%2e/people", "/api/trees/" + none + "%00",
		"/api/trees/" + strings.Repeat("a", 5000), "/api/trees/" + strings.ToUpper(none), "/api/trees/$tree%20", "/api/trees/$tree%0d%0aX:1",
		"/api/photos/..%2f..%2fetc%2fpasswd", "/api/photos/$photo%2f..", "/api/photos/$photo.jpg", "/api/photos/" + strings.Repeat("0", 63) + "g",
		"/api/photos/%c0%ae%c0%ae/", "/api/devices/" + strings.Repeat("F", 64), "/api/entries/'%20or%201=1--", "/api/entries//proof",
		"//etc/passwd", "/page/start.html", "/style.css/../run.go", "/api/deeds/..%2fvisit.open", "/api/deeds/visit.open%00",
	} {
		res, body := h.ask(h.firm, question{method: "GET", path: path, who: "boss"})
		if res.StatusCode < 400 && res.Request.URL.Path != "/api/people" { // where the client itself tidied the path
			t.Errorf("%q: %d %s", path, res.StatusCode, body)
			continue
		}
		if res.StatusCode >= 500 {
			t.Errorf("%q: %d %s", path, res.StatusCode, body)
		}
		if res.StatusCode >= 400 {
			h.problem(path, res, body, res.StatusCode, "")
		}
	}
}

package server

import (
	"context"
	"encoding/base64"
	"net/http"
	"strings"
	"time"

	"sapwell/actions"
	"sapwell/engine/quantity"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/views"
)

// How many rows a list shows where nobody says, and how many at most.
const (
	usualRows = 100
	mostRows  = 1000
)

// Listing is what every list is asked with. (huma passes over what is embedded
// under a small letter.)
type Listing struct {
	Cursor string `query:"cursor" maxLength:"2000" doc:"next of the list before, to go on from there"`
	Limit  int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"rows at most"`
}

// The lists that can be narrowed. A key begins with what they are narrowed by.
type (
	listAll struct{ Listing }

	listTrees struct {
		Listing
		Grounds string `query:"grounds" format:"uuid" pattern:"^[0-9a-f-]{36}$" doc:"only trees of these grounds"`
	}
	listLots struct {
		Listing
		Label string `query:"label" maxLength:"200" doc:"only lots of the label of this name"`
	}
	listVisits struct {
		Listing
		Status string `query:"status" enum:"open,closed,retired" doc:"only visits that are so"`
	}
	listBags struct {
		Listing
		Status string `query:"status" enum:"sealed,handed" doc:"only bags that are so"`
	}
)

// narrowed is what the keys of the rows begin with, "" for all.
func (l listAll) narrowed() string    { return "" }
func (l listTrees) narrowed() string  { return l.Grounds }
func (l listLots) narrowed() string   { return l.Label }
func (l listVisits) narrowed() string { return l.Status }
func (l listBags) narrowed() string   { return l.Status }
func (l Listing) paged() Listing      { return l }

type narrowing interface {
	narrowed() string
	paged() Listing
}

// rows is a page of a list.
type rows[T any] struct {
	Body struct {
		Items []raw[T] `json:"items"`
		Next  string   `json:"next,omitempty" doc:"cursor of the next page; absent on the last"`
	}
}

type one[T any] struct {
	Body raw[T]
}

// ByID asks for one thing.
type ByID struct {
	ID string `path:"id" doc:"its id" pattern:"^[0-9a-f-]{36}$" maxLength:"36"`
}

func (b ByID) id() string { return b.ID }

// ByHash asks for one device.
type ByHash struct {
	ID string `path:"id" doc:"the SHA-256 of its public key" pattern:"^[0-9a-f]{64}$" maxLength:"64"`
}

func (b ByHash) id() string { return b.ID }

type naming interface{ id() string }

func (s *Server) viewRoutes() {
	viewOf[views.Grounds, listAll, ByID, toldByID](s, entries.OfGrounds, "grounds", "properties, by name")
	viewOf[views.Tree, listTrees, ByID, toldByID](s, entries.OfTree, "trees", "trees, by grounds and tag")
	viewOf[views.Label, listAll, ByID, toldByID](s, entries.OfLabel, "labels", "versions of labels, by name")
	viewOf[views.Lot, listLots, ByID, toldByID](s, entries.OfLot, "lots", "lots, by label and expiry")
	viewOf[views.Visit, listVisits, ByID, toldByID](s, entries.OfVisit, "visits", "visits, by status and day")
	viewOf[views.Person, listAll, ByID, toldByID](s, entries.OfPerson, "people", "people, by name")
	viewOf[views.Device, listAll, ByHash, toldByHash](s, entries.OfDevice, "devices", "devices, by name")
	viewOf[views.Bag, listBags, ByID, toldByID](s, entries.OfBag, "bags", "waste bags, those not handed over last")
	viewOf[views.Org, listAll, ByID, toldByID](s, entries.OfOrg, "orgs", "the organisation: one row")
	route(s, signedIn, at(http.MethodGet, "/api/round", "round", "views", "open visits and the units that are out"), s.round)
}

// viewOf adds the three routes of a kind of thing: all, one, and what was said of it.
func viewOf[T any, L narrowing, N naming, H tellable](s *Server, kind entries.SubjectKind, name, what string) {
	path := "/api/" + name
	route(s, signedIn, at(http.MethodGet, path, "list-"+name, "views", what), func(ctx context.Context, c caller, in *L) (*rows[T], error) {
		return listed[T](ctx, c, kind, (*in).narrowed(), (*in).paged())
	})
	route(s, signedIn, at(http.MethodGet, path+"/{id}", "show-"+name, "views", "one of "+name), func(ctx context.Context, c caller, in *N) (*one[T], error) {
		return show[T](ctx, c, entries.Subject{Kind: kind, ID: (*in).id()})
	})
	route(s, signedIn, at(http.MethodGet, path+"/{id}/entries", "history-"+name, "views", "what was said of one of "+name+", amendments with it"), func(ctx context.Context, c caller, in *H) (*history, error) {
		subject, from, limit := (*in).asks()
		return tell(ctx, c, entries.Subject{Kind: kind, ID: subject}, from, limit)
	})
}

func listed[T any](ctx context.Context, c caller, kind entries.SubjectKind, narrowed string, page Listing) (*rows[T], error) {
	from, to, after := "", "", ""
	if narrowed != "" {
		from, to = narrowed+"|", narrowed+"}" // the byte after |
	}
	if page.Cursor != "" {
		key, id, err := readCursor(page.Cursor)
		if err != nil {
			return nil, err
		}
		from, after = max(from, key), id
	}
	out := new(rows[T])
	out.Body.Items = []raw[T]{}
	limit := min(max(page.Limit, 1), mostRows)
	err := c.ledger.Read(ctx, func(v store.Reader) error {
		found, err := v.List(kind, from, to, after, limit)
		for _, row := range found {
			out.Body.Items = append(out.Body.Items, raw[T](row.State))
		}
		if len(found) == limit {
			last := found[limit-1]
			out.Body.Next = writeCursor(last.Key, last.Subject.ID)
		}
		return err
	})
	return out, err
}

// A cursor names the last row that was shown.
func writeCursor(key, id string) string {
	return base64.RawURLEncoding.EncodeToString([]byte(id + "|" + key))
}

func readCursor(cursor string) (key, id string, err error) {
	text, err := base64.RawURLEncoding.DecodeString(cursor)
	id, key, ok := strings.Cut(string(text), "|")
	if err != nil || !ok {
		return "", "", problem(http.StatusUnprocessableEntity, "request.cursor").in("query.cursor")
	}
	return key, id, nil
}

func show[T any](ctx context.Context, c caller, subject entries.Subject) (*one[T], error) {
	out := new(one[T])
	err := c.ledger.Read(ctx, func(v store.Reader) error {
		row, ok, err := v.View(subject)
		if err == nil && !ok {
			err = store.ErrNotFound
		}
		out.Body = raw[T](row.State)
		return err
	})
	return out, err
}

type roundInput struct {
	Day string `query:"day" format:"date" doc:"visits up to this day; left out: all that are open"`
}

type roundOutput struct {
	Body struct {
		Visits []actions.OpenVisit `json:"visits"`
	}
}

func (s *Server) round(ctx context.Context, c caller, in *roundInput) (*roundOutput, error) {
	var day entries.Date
	if in.Day != "" {
		var err error
		if day, err = quantity.ParseDate(in.Day); err != nil {
			return nil, problem(http.StatusUnprocessableEntity, "request.malformed").in("query.day")
		}
	}
	out := new(roundOutput)
	err := c.ledger.Read(ctx, func(v store.Reader) (err error) {
		out.Body.Visits, err = actions.Round(v, day)
		return err
	})
	return out, err
}

// today is the day at the office: by the time zone that its organisation names.
func (s *Server) today(org *views.Org) entries.Date {
	now := s.Clock()
	if zone, err := time.LoadLocation(org.Facts.Zone); err == nil && org.Facts.Zone != "" {
		now = now.In(zone)
	}
	return quantity.NewDate(now.Date())
}

// idOf reads an id that the pattern of its route let through.
func idOf(text string) (id journal.ID, err error) {
	if id.UnmarshalText([]byte(text)) != nil {
		return id, store.ErrNotFound
	}
	return id, nil
}

package server

import (
	"context"
	"net/http"
	"slices"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/server/door"
	"sapwell/store"
)

// Door lets people in; *door.Door is one. Who a request acts for is then told by
// door.From.
type Door interface {
	Wrap(next http.Handler) http.Handler
}

// may says who gets in by a route.
type may struct {
	open   bool           // anybody, signed in or not
	device bool           // only an enrolled device
	roles  []entries.Role // any of these; none: everybody who is signed in
}

// The sorts of route. An inspector reads everything and writes nothing.
var (
	anybody   = may{open: true}
	signedIn  = may{}
	theOffice = may{roles: []entries.Role{entries.Office}}
	keepers   = may{roles: []entries.Role{entries.Office, entries.Inspector}}
	workers   = may{roles: []entries.Role{entries.Office, entries.Applicator, entries.Trainee}}
	devices   = may{device: true}
)

// caller is who a request comes from, with the journal that is theirs.
type caller struct {
	door.Who
	ledger store.Ledger
}

// enter lets a request in, or says why not.
func (s *Server) enter(ctx context.Context, m may) (caller, error) {
	who, ok := door.From(ctx)
	if !ok {
		if m.open {
			return caller{}, nil
		}
		return caller{}, problem(http.StatusUnauthorized, "session.none")
	}
	requestOf(ctx).org = who.Org
	if m.device && who.Device == (journal.Hash{}) {
		return caller{}, problem(http.StatusForbidden, "session.not_a_device")
	}
	if len(m.roles) > 0 && !slices.ContainsFunc(m.roles, func(r entries.Role) bool { return slices.Contains(who.Roles, r) }) {
		return caller{}, problem(http.StatusForbidden, "session.not_entitled")
	}
	ledger, err := s.Store.Ledger(ctx, who.Org)
	return caller{Who: who, ledger: ledger}, err
}

package server

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"sapwell/accounts"
	"sapwell/actions"
	"sapwell/backup"
	"sapwell/journal"
	"sapwell/store"
)

// mostRestore is how large a backup may be that is sent; a larger one is brought
// back by sapwell restore.
const mostRestore = 31 << 20

type restoreInput struct {
	RawBody []byte `contentType:"application/gzip"`
}

type restoreOutput struct {
	Body struct {
		Entries  int64 `json:"entries" doc:"in the backup"`
		Added    int64 `json:"added" doc:"of them, what was not here"`
		Refused  int   `json:"refused" doc:"lines that are not sound"`
		Aside    int   `json:"aside" doc:"lines that were kept apart, as they were before"`
		Pictures int   `json:"pictures" doc:"in the backup"`
	}
}

func (s *Server) backupRoutes() {
	get := at(http.MethodGet, "/api/backup", "backup", "journal", "all that is kept of the organisation, but its secrets")
	get.Description = "A file for sapwell restore: journal, what was kept apart, pictures. Signing key, passwords and passkeys never leave by this way; sapwell backup writes them too."
	get.Responses = file("application/gzip", "a tar packed with gzip")
	route(s, theOffice, get, s.backup)

	post := at(http.MethodPost, "/api/restore", "restore", "journal", "a backup of this organisation brought back")
	post.Description = "What is here stays; what is missing is added, if its device and person may write it. Entries of a device that comes in by the same backup are kept apart at first: send it again."
	post.MaxBodyBytes = mostRestore
	post.Middlewares = huma.Middlewares{s.oneByOne}
	route(s, theOffice, post, s.restore)
	s.describeBody(post, bytesOf("application/gzip"))
}

func (s *Server) backup(_ context.Context, c caller, _ *struct{}) (*streamed, error) {
	return s.download("application/gzip", "sapwell-backup.tar.gz", func(ctx context.Context, w io.Writer) error {
		return backup.Write(ctx, ownStore{s.Store, c.ledger}, w, s.Clock())
	}), nil
}

func (s *Server) restore(ctx context.Context, c caller, in *restoreInput) (*restoreOutput, error) {
	own := ownStore{s.Store, admitting{c.ledger}}
	report, err := backup.Restore(ctx, own, bytes.NewReader(in.RawBody), s.Clock())
	if err != nil {
		return nil, s.restoreProblem(ctx, err)
	}
	out := new(restoreOutput)
	for _, o := range report.Orgs { // one, or none
		out.Body.Entries, out.Body.Added, out.Body.Refused = o.Entries, o.Added, len(o.Refused)
		out.Body.Aside, out.Body.Pictures = o.Aside, o.Pictures
	}
	if out.Body.Added > 0 {
		s.live.nudge(c.Org)
	}
	return out, nil
}

// restoreProblem takes an error that nothing here is at fault for as one of the file.
func (s *Server) restoreProblem(ctx context.Context, err error) error {
	var p *Problem
	if errors.As(err, &p) || ctx.Err() != nil || errors.Is(err, store.ErrFull) || errors.Is(err, store.ErrReadOnly) {
		return err
	}
	s.Log.WarnContext(ctx, "restore", "request", requestOf(ctx).id, "cause", err.Error())
	return problem(http.StatusUnprocessableEntity, "restore.damaged").in("body")
}

// ownStore shows a backup one organisation of a store and none of its secrets.
type ownStore struct {
	store.Store
	own store.Ledger
}

func (o ownStore) Orgs(context.Context) ([]journal.ID, error) { return []journal.ID{o.own.Org()}, nil }

func (o ownStore) Ledger(_ context.Context, org journal.ID) (store.Ledger, error) {
	if org != o.own.Org() {
		return nil, store.ErrNotFound
	}
	return o.own, nil
}

// errOther says that a backup is of another organisation: such are brought back by
// whoever runs the server.
func errOther() error { return problem(http.StatusUnprocessableEntity, "restore.other_org").in("body") }

func (o ownStore) Found(context.Context, [][]byte, int64) (journal.ID, error) {
	return journal.ID{}, errOther()
}

func (o ownStore) Import(context.Context, io.Reader, int64) (journal.ID, error) {
	return journal.ID{}, errOther()
}

// Accounts are not in the backup, and one that is in a backup counts as there.
func (o ownStore) Accounts(context.Context, journal.ID) ([]accounts.Account, error) { return nil, nil }

func (o ownStore) AccountByID(context.Context, string) (accounts.Account, error) {
	return accounts.Account{}, nil
}

func (o ownStore) PutAccount(context.Context, accounts.Account) error { return nil }
func (o ownStore) PutPasskey(context.Context, accounts.Passkey) error { return nil }

func (o ownStore) KeyOf(context.Context, journal.ID) (accounts.Key, error) {
	return accounts.Key{}, store.ErrNotFound
}

func (o ownStore) PutKey(context.Context, accounts.Key) error { return nil }

// admitting lets nothing into the journal by a backup that a device could not bring.
type admitting struct{ store.Ledger }

func (a admitting) Merge(ctx context.Context, lines [][]byte, at int64, admit store.Admit) (store.Merged, error) {
	if admit == nil {
		admit = func(v store.Reader, e journal.Entry) (string, error) { return actions.Admit(v, e) }
	}
	return a.Ledger.Merge(ctx, lines, at, admit)
}

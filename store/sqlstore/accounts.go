package sqlstore

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"sapwell/accounts"
	"sapwell/journal"
)

// change runs one statement that is on the disk when it returns nil.
func (s *Store) change(ctx context.Context, text string, args ...any) error {
	return s.commit(ctx, func(t *tx) error { return t.exec(text, args...) })
}

// find reads at most one row.
func (s *Store) find(ctx context.Context, what, text string, args []any, to ...any) error {
	return s.read(ctx, func(t *tx) error {
		ok, err := t.scan(text, args, to...)
		if err == nil && !ok {
			err = fmt.Errorf("%s: %w", what, accounts.ErrNotFound)
		}
		return err
	})
}

// PutAccount: see accounts.Keeper.
func (s *Store) PutAccount(ctx context.Context, a accounts.Account) error {
	err := s.change(ctx, `INSERT INTO account (id, org, person, login, password, disabled, made) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (id) DO UPDATE SET org = excluded.org, person = excluded.person, login = excluded.login,
			password = excluded.password, disabled = excluded.disabled, made = excluded.made`,
		a.ID, a.Org[:], a.Person[:], a.Login, a.Password, flag(a.Disabled), a.Made)
	if errors.Is(err, accounts.ErrExists) {
		return fmt.Errorf("login %q: %w", a.Login, accounts.ErrExists)
	}
	return err
}

// flag is a yes or no as a number, which both engines have.
func flag(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

const accountColumns = `SELECT id, org, person, login, password, disabled, made FROM account `

func accountTo(a *accounts.Account) []any {
	return []any{&a.ID, fixed(a.Org[:]), fixed(a.Person[:]), &a.Login, &a.Password, &a.Disabled, &a.Made}
}

// AccountByLogin: see accounts.Keeper.
func (s *Store) AccountByLogin(ctx context.Context, login string) (a accounts.Account, err error) {
	err = s.find(ctx, fmt.Sprintf("login %q", login), accountColumns+`WHERE login = $1`, []any{login}, accountTo(&a)...)
	return a, err
}

// AccountByID: see accounts.Keeper.
func (s *Store) AccountByID(ctx context.Context, id string) (a accounts.Account, err error) {
	err = s.find(ctx, "account "+id, accountColumns+`WHERE id = $1`, []any{id}, accountTo(&a)...)
	return a, err
}

// Accounts: see accounts.Keeper.
func (s *Store) Accounts(ctx context.Context, org journal.ID) (all []accounts.Account, err error) {
	err = s.read(ctx, func(t *tx) error {
		return t.each(accountColumns+`WHERE org = $1 ORDER BY login`, []any{org[:]}, func(rows *sql.Rows) error {
			var a accounts.Account
			err := rows.Scan(accountTo(&a)...)
			all = append(all, a)
			return err
		})
	})
	return all, err
}

// CountAccounts: see accounts.Keeper.
func (s *Store) CountAccounts(ctx context.Context) (n int, err error) {
	err = s.find(ctx, "accounts", `SELECT count(*) FROM account`, nil, &n)
	return n, err
}

// PutPasskey: see accounts.Keeper.
func (s *Store) PutPasskey(ctx context.Context, p accounts.Passkey) error {
	const text = `INSERT INTO passkey (id, account, name, data, made, used) VALUES ($1, $2, $3, $4, $5, $6)
		ON CONFLICT (id) DO UPDATE SET name = excluded.name, data = excluded.data, made = excluded.made, used = excluded.used
			WHERE passkey.account = excluded.account RETURNING id`
	return s.commit(ctx, func(t *tx) error {
		var id []byte
		ok, err := t.scan(text, []any{p.ID, p.Account, p.Name, p.Data, p.Made, p.Used}, &id)
		if err == nil && !ok {
			err = fmt.Errorf("passkey %x: %w", p.ID, accounts.ErrExists)
		}
		return err
	})
}

const passkeyColumns = `SELECT id, account, name, data, made, used FROM passkey `

func passkeyTo(p *accounts.Passkey) []any {
	return []any{&p.ID, &p.Account, &p.Name, &p.Data, &p.Made, &p.Used}
}

// Passkeys: see accounts.Keeper.
func (s *Store) Passkeys(ctx context.Context, account string) (all []accounts.Passkey, err error) {
	err = s.read(ctx, func(t *tx) error {
		return t.each(passkeyColumns+`WHERE account = $1 ORDER BY id`, []any{account}, func(rows *sql.Rows) error {
			var p accounts.Passkey
			err := rows.Scan(passkeyTo(&p)...)
			all = append(all, p)
			return err
		})
	})
	return all, err
}

// PasskeyByID: see accounts.Keeper.
func (s *Store) PasskeyByID(ctx context.Context, id []byte) (p accounts.Passkey, err error) {
	err = s.find(ctx, fmt.Sprintf("passkey %x", id), passkeyColumns+`WHERE id = $1`, []any{id}, passkeyTo(&p)...)
	return p, err
}

// DropPasskey: see accounts.Keeper.
func (s *Store) DropPasskey(ctx context.Context, id []byte) error {
	return s.change(ctx, `DELETE FROM passkey WHERE id = $1`, id)
}

// PutSession: see accounts.Keeper.
func (s *Store) PutSession(ctx context.Context, e accounts.Session) error {
	return s.change(ctx, `INSERT INTO session (token, org, person, account, device, made, until, seen) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)
		ON CONFLICT (token) DO UPDATE SET org = excluded.org, person = excluded.person, account = excluded.account,
			device = excluded.device, made = excluded.made, until = excluded.until, seen = excluded.seen`,
		e.Token[:], e.Org[:], e.Person[:], e.Account, e.Device[:], e.Made, e.Until, e.Seen)
}

// SessionByToken: see accounts.Keeper.
func (s *Store) SessionByToken(ctx context.Context, token journal.Hash) (e accounts.Session, err error) {
	err = s.find(ctx, "session", `SELECT token, org, person, account, device, made, until, seen FROM session WHERE token = $1`, []any{token[:]},
		fixed(e.Token[:]), fixed(e.Org[:]), fixed(e.Person[:]), &e.Account, fixed(e.Device[:]), &e.Made, &e.Until, &e.Seen)
	return e, err
}

// DropSession: see accounts.Keeper.
func (s *Store) DropSession(ctx context.Context, token journal.Hash) error {
	return s.change(ctx, `DELETE FROM session WHERE token = $1`, token[:])
}

// DropSessionsOf: see accounts.Keeper.
func (s *Store) DropSessionsOf(ctx context.Context, person journal.ID, device journal.Hash) error {
	if device != (journal.Hash{}) {
		return s.change(ctx, `DELETE FROM session WHERE device = $1`, device[:])
	}
	return s.change(ctx, `DELETE FROM session WHERE person = $1`, person[:])
}

// DropSessionsBefore: see accounts.Keeper.
func (s *Store) DropSessionsBefore(ctx context.Context, until int64) error {
	return s.change(ctx, `DELETE FROM session WHERE until < $1`, until)
}

// PutInvite: see accounts.Keeper.
func (s *Store) PutInvite(ctx context.Context, i accounts.Invite) error {
	return s.change(ctx, `INSERT INTO invite (secret, org, person, sort, until) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (secret) DO UPDATE SET org = excluded.org, person = excluded.person, sort = excluded.sort, until = excluded.until`,
		i.Secret[:], i.Org[:], i.Person[:], i.Sort, i.Until)
}

// TakeInvite: see accounts.Keeper.
func (s *Store) TakeInvite(ctx context.Context, secret journal.Hash) (accounts.Invite, error) {
	i := accounts.Invite{Secret: secret}
	err := s.commit(ctx, func(t *tx) error {
		ok, err := t.scan(`DELETE FROM invite WHERE secret = $1 RETURNING org, person, sort, until`, []any{secret[:]},
			fixed(i.Org[:]), fixed(i.Person[:]), &i.Sort, &i.Until)
		if err == nil && !ok {
			err = fmt.Errorf("invite: %w", accounts.ErrNotFound)
		}
		return err
	})
	if err != nil {
		return accounts.Invite{}, err
	}
	return i, nil
}

// PutKey: see accounts.Keeper.
func (s *Store) PutKey(ctx context.Context, k accounts.Key) error {
	return s.change(ctx, `INSERT INTO signkey (org, private) VALUES ($1, $2)
		ON CONFLICT (org) DO UPDATE SET private = excluded.private`, k.Org[:], k.Private)
}

// KeyOf: see accounts.Keeper.
func (s *Store) KeyOf(ctx context.Context, org journal.ID) (accounts.Key, error) {
	k := accounts.Key{Org: org}
	err := s.find(ctx, "key of "+org.String(), `SELECT private FROM signkey WHERE org = $1`, []any{org[:]}, &k.Private)
	return k, err
}

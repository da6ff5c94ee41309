package mem

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"maps"
	"slices"
	"sync"

	"sapwell/accounts"
	"sapwell/journal"
)

// keeper is accounts.Keeper in memory.
type keeper struct {
	guard    *sync.RWMutex // guards all below
	accounts map[string]accounts.Account
	passkeys map[string]accounts.Passkey
	sessions map[journal.Hash]accounts.Session
	invites  map[journal.Hash]accounts.Invite
	keys     map[journal.ID]accounts.Key
}

func newKeeper() keeper {
	return keeper{
		guard:    new(sync.RWMutex),
		accounts: make(map[string]accounts.Account),
		passkeys: make(map[string]accounts.Passkey),
		sessions: make(map[journal.Hash]accounts.Session),
		invites:  make(map[journal.Hash]accounts.Invite),
		keys:     make(map[journal.ID]accounts.Key),
	}
}

// change runs do alone, unless nobody waits for it any more.
func (k keeper) change(ctx context.Context, do func() error) error {
	k.guard.Lock()
	defer k.guard.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	return do()
}

// lookUp finds one value by its key.
func lookUp[K comparable, V any](ctx context.Context, k keeper, in map[K]V, key K, what string) (V, error) {
	k.guard.RLock()
	defer k.guard.RUnlock()
	v, ok := in[key]
	if !ok {
		return v, fmt.Errorf("%s: %w", what, accounts.ErrNotFound)
	}
	return v, ctx.Err()
}

// PutAccount: see accounts.Keeper.
func (k keeper) PutAccount(ctx context.Context, a accounts.Account) error {
	return k.change(ctx, func() error {
		for _, other := range k.accounts {
			if other.Login == a.Login && other.ID != a.ID {
				return fmt.Errorf("login %q: %w", a.Login, accounts.ErrExists)
			}
		}
		k.accounts[a.ID] = a
		return nil
	})
}

// AccountByLogin: see accounts.Keeper.
func (k keeper) AccountByLogin(ctx context.Context, login string) (accounts.Account, error) {
	k.guard.RLock()
	defer k.guard.RUnlock()
	for _, a := range k.accounts {
		if a.Login == login {
			return a, ctx.Err()
		}
	}
	return accounts.Account{}, fmt.Errorf("login %q: %w", login, accounts.ErrNotFound)
}

// AccountByID: see accounts.Keeper.
func (k keeper) AccountByID(ctx context.Context, id string) (accounts.Account, error) {
	return lookUp(ctx, k, k.accounts, id, "account "+id)
}

// Accounts: see accounts.Keeper.
func (k keeper) Accounts(ctx context.Context, org journal.ID) ([]accounts.Account, error) {
	k.guard.RLock()
	defer k.guard.RUnlock()
	var all []accounts.Account
	for _, a := range k.accounts {
		if a.Org == org {
			all = append(all, a)
		}
	}
	slices.SortFunc(all, func(a, b accounts.Account) int { return cmp.Compare(a.Login, b.Login) })
	return all, ctx.Err()
}

// CountAccounts: see accounts.Keeper.
func (k keeper) CountAccounts(ctx context.Context) (int, error) {
	k.guard.RLock()
	defer k.guard.RUnlock()
	return len(k.accounts), ctx.Err()
}

// PutPasskey: see accounts.Keeper.
func (k keeper) PutPasskey(ctx context.Context, p accounts.Passkey) error {
	return k.change(ctx, func() error {
		if old, ok := k.passkeys[string(p.ID)]; ok && old.Account != p.Account {
			return fmt.Errorf("passkey %x: %w", p.ID, accounts.ErrExists)
		}
		p.ID, p.Data = bytes.Clone(p.ID), bytes.Clone(p.Data)
		k.passkeys[string(p.ID)] = p
		return nil
	})
}

// Passkeys: see accounts.Keeper.
func (k keeper) Passkeys(ctx context.Context, account string) ([]accounts.Passkey, error) {
	k.guard.RLock()
	defer k.guard.RUnlock()
	var all []accounts.Passkey
	for _, p := range k.passkeys {
		if p.Account == account {
			all = append(all, p)
		}
	}
	slices.SortFunc(all, func(a, b accounts.Passkey) int { return bytes.Compare(a.ID, b.ID) })
	return all, ctx.Err()
}

// PasskeyByID: see accounts.Keeper.
func (k keeper) PasskeyByID(ctx context.Context, id []byte) (accounts.Passkey, error) {
	return lookUp(ctx, k, k.passkeys, string(id), fmt.Sprintf("passkey %x", id))
}

// DropPasskey: see accounts.Keeper.
func (k keeper) DropPasskey(ctx context.Context, id []byte) error {
	return k.change(ctx, func() error { delete(k.passkeys, string(id)); return nil })
}

// PutSession: see accounts.Keeper.
func (k keeper) PutSession(ctx context.Context, s accounts.Session) error {
	return k.change(ctx, func() error { k.sessions[s.Token] = s; return nil })
}

// SessionByToken: see accounts.Keeper.
func (k keeper) SessionByToken(ctx context.Context, token journal.Hash) (accounts.Session, error) {
	return lookUp(ctx, k, k.sessions, token, "session")
}

// DropSession: see accounts.Keeper.
func (k keeper) DropSession(ctx context.Context, token journal.Hash) error {
	return k.change(ctx, func() error { delete(k.sessions, token); return nil })
}

// DropSessionsOf: see accounts.Keeper.
func (k keeper) DropSessionsOf(ctx context.Context, person journal.ID, device journal.Hash) error {
	return k.dropSessions(ctx, func(s accounts.Session) bool {
		if device != (journal.Hash{}) {
			return s.Device == device
		}
		return s.Person == person
	})
}

// DropSessionsBefore: see accounts.Keeper.
func (k keeper) DropSessionsBefore(ctx context.Context, until int64) error {
	return k.dropSessions(ctx, func(s accounts.Session) bool { return s.Until < until })
}

func (k keeper) dropSessions(ctx context.Context, which func(accounts.Session) bool) error {
	return k.change(ctx, func() error {
		maps.DeleteFunc(k.sessions, func(_ journal.Hash, s accounts.Session) bool { return which(s) })
		return nil
	})
}

// PutInvite: see accounts.Keeper.
func (k keeper) PutInvite(ctx context.Context, i accounts.Invite) error {
	return k.change(ctx, func() error { k.invites[i.Secret] = i; return nil })
}

// TakeInvite: see accounts.Keeper.
func (k keeper) TakeInvite(ctx context.Context, secret journal.Hash) (accounts.Invite, error) {
	var taken accounts.Invite
	err := k.change(ctx, func() error {
		var ok bool
		if taken, ok = k.invites[secret]; !ok {
			return fmt.Errorf("invite: %w", accounts.ErrNotFound)
		}
		delete(k.invites, secret)
		return nil
	})
	return taken, err
}

// PutKey: see accounts.Keeper.
func (k keeper) PutKey(ctx context.Context, key accounts.Key) error {
	return k.change(ctx, func() error {
		key.Private = bytes.Clone(key.Private)
		k.keys[key.Org] = key
		return nil
	})
}

// KeyOf: see accounts.Keeper.
func (k keeper) KeyOf(ctx context.Context, org journal.ID) (accounts.Key, error) {
	return lookUp(ctx, k, k.keys, org, "key of "+org.String())
}

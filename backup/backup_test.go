package backup

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sapwell/accounts"
	"sapwell/internal/history"
	"sapwell/internal/outside"
	"sapwell/internal/pgtest"
	"sapwell/journal"
	"sapwell/store"
	"sapwell/store/mem"
	"sapwell/store/sqlstore"
)

var night = time.Date(2026, 6, 9, 2, 0, 0, 0, time.UTC)

// engines are the stores a backup must pass between.
var engines = map[string]func(t testing.TB) store.Store{
	"memory": func(testing.TB) store.Store { return mem.New() },
	"SQLite": func(t testing.TB) store.Store {
		s, err := sqlstore.OpenSQLite(t.Context(), filepath.Join(t.TempDir(), "sapwell.db"), sqlstore.Options{})
		return sound(t, s, err)
	},
	"PostgreSQL": func(t testing.TB) store.Store {
		s, err := sqlstore.OpenPostgres(t.Context(), pgtest.Start(t), sqlstore.Options{})
		return sound(t, s, err)
	},
}

func sound(t testing.TB, s store.Store, err error) store.Store {
	t.Helper()
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	return s
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

const founding = `
office: firm org
office: boss person office applicator
office: desk enrolled office boss
`

const work = `
office: park grounds
office: oak tree park
office: tape measured oak 1800
office: ann person applicator
office: phone enrolled phone ann
phone: n1 note tree oak
phone: n2 note tree oak
phone: n3 note tree oak
`

// firm founds an organisation with everything a store can hold of one.
func firm(t testing.TB, s store.Store, seed string) (*history.History, store.Ledger) {
	t.Helper()
	h, ctx := history.New(seed), t.Context()
	must(t, h.Tell(founding))
	org, err := s.Found(ctx, h.Lines("firm boss desk"), h.Now())
	must(t, err)
	l, err := s.Ledger(ctx, org)
	must(t, err)
	must(t, h.Tell(work))
	revoked := func(_ store.Reader, e journal.Entry) (string, error) {
		if e.ID == h.ID("n2") {
			return "revoked", nil
		}
		return "", nil
	}
	if m, err := l.Merge(ctx, h.Lines("park oak tape ann phone n1 n2 n3"), h.Now(), revoked); err != nil || len(m.Added) != 6 || len(m.Aside) != 2 {
		t.Fatalf("%d added, %d aside, %v", len(m.Added), len(m.Aside), err)
	}
	_, err = l.Head(ctx, h.Signer("office"), h.Now())
	must(t, err)
	for _, data := range []string{"one picture of " + seed, "another\x00\xff"} {
		_, err := l.PutBlob(ctx, []byte(data), h.Now())
		must(t, err)
	}
	for _, name := range []string{"ann", "bob"} {
		must(t, s.PutAccount(ctx, accounts.Account{ID: seed + name, Org: org, Person: h.ID("ann"), Login: name + "@" + seed, Password: "$argon2id$x", Disabled: name == "bob", Made: 7}))
	}
	must(t, s.PutPasskey(ctx, accounts.Passkey{ID: []byte(seed + "\x00\xff"), Account: seed + "ann", Name: "key ring", Data: []byte(`{"a": 1,  "b":2}`), Made: 8, Used: 9}))
	must(t, s.PutKey(ctx, accounts.Key{Org: org, Private: h.Signer("office")}))
	return h, l
}

// holding is all that a store can be asked for of an organisation.
type holding struct {
	Export   string
	Aside    []store.Aside
	Blobs    map[journal.Hash]string
	Accounts []accounts.Account
	Passkeys []accounts.Passkey
	Key      string
}

func held(t testing.TB, s store.Store) map[journal.ID]holding {
	t.Helper()
	ctx, all := t.Context(), map[journal.ID]holding{}
	orgs, err := s.Orgs(ctx)
	must(t, err)
	for _, org := range orgs {
		l, err := s.Ledger(ctx, org)
		must(t, err)
		h := holding{Blobs: map[journal.Hash]string{}}
		var export bytes.Buffer
		must(t, l.Export(ctx, &export))
		h.Export = export.String()
		h.Aside, err = l.Aside(ctx)
		must(t, err)
		sums, err := l.Blobs(ctx)
		must(t, err)
		for _, sum := range sums {
			data, err := l.Blob(ctx, sum)
			must(t, err)
			h.Blobs[sum] = string(data)
		}
		h.Accounts, err = s.Accounts(ctx, org)
		must(t, err)
		slices.SortFunc(h.Accounts, func(a, b accounts.Account) int { return strings.Compare(a.ID, b.ID) })
		for _, a := range h.Accounts {
			keys, err := s.Passkeys(ctx, a.ID)
			must(t, err)
			h.Passkeys = append(h.Passkeys, keys...)
		}
		key, err := s.KeyOf(ctx, org)
		must(t, err)
		h.Key = string(key.Private)
		all[org] = h
	}
	return all
}

func written(t testing.TB, s store.Store) []byte {
	t.Helper()
	var b bytes.Buffer
	must(t, Write(t.Context(), s, &b, night))
	return b.Bytes()
}

// What was in one engine is afterwards in another, byte for byte, and bringing it
// back a second time changes nothing.
func TestBetweenEngines(t *testing.T) {
	for from, to := range map[string]string{"memory": "SQLite", "SQLite": "PostgreSQL", "PostgreSQL": "memory"} {
		t.Run(from+" to "+to, func(t *testing.T) {
			old, fresh := engines[from](t), engines[to](t)
			firm(t, old, "one")
			firm(t, old, "two")
			want, file := held(t, old), written(t, old)
			rep, err := Restore(t.Context(), fresh, bytes.NewReader(file), night)
			must(t, err)
			if got := held(t, fresh); !reflect.DeepEqual(got, want) {
				t.Errorf("brought back\n%+v\nwant\n%+v", got, want)
			}
			if len(rep.Orgs) != 2 || rep.Made != night.UnixMilli() || rep.From == "" {
				t.Errorf("%+v", rep)
			}
			for _, o := range rep.Orgs {
				if !o.New || o.Entries != 9 || o.Added != 9 || o.Pictures != 2 || o.Accounts != 2 || o.Aside != 2 || len(o.Refused) > 0 || o.OtherKey {
					t.Errorf("%+v", o)
				}
			}
			rep, err = Restore(t.Context(), fresh, bytes.NewReader(file), night.Add(time.Hour))
			must(t, err)
			if got := held(t, fresh); !reflect.DeepEqual(got, want) {
				t.Errorf("the second time it became\n%+v\nwant\n%+v", got, want)
			}
			for _, o := range rep.Orgs {
				if o.New || o.Added != 0 || o.Accounts != 0 || len(o.LoginsTaken) > 0 || len(o.Refused) > 0 {
					t.Errorf("the second time: %+v", o)
				}
			}
		})
	}
}

// A store that went on after the backup keeps what it has, and gets what it lost.
func TestMergesIntoWhatIsThere(t *testing.T) {
	for name, open := range engines {
		t.Run(name, func(t *testing.T) {
			ctx := t.Context()
			old := engines["memory"](t)
			h, _ := firm(t, old, "one")
			file := written(t, old)

			s := open(t)
			org, err := s.Found(ctx, h.Lines("firm boss desk"), h.Now())
			must(t, err)
			l, err := s.Ledger(ctx, org)
			must(t, err)
			must(t, h.Tell("office: elm tree park\n"))
			_, err = l.Merge(ctx, h.Lines("park oak tape ann phone elm"), h.Now(), nil)
			must(t, err)
			newer := accounts.Account{ID: "oneann", Org: org, Person: h.ID("ann"), Login: "ann@one", Password: "$argon2id$newer", Made: 7}
			must(t, s.PutAccount(ctx, newer))
			must(t, s.PutAccount(ctx, accounts.Account{ID: "other", Org: org, Person: h.ID("boss"), Login: "bob@one", Made: 7}))
			must(t, s.PutKey(ctx, accounts.Key{Org: org, Private: h.Signer("elsewhere")}))

			rep, err := Restore(ctx, s, bytes.NewReader(file), night)
			must(t, err)
			got := rep.Orgs[0]
			if got.New || got.Added != 1 || got.Aside != 2 || got.Pictures != 2 || got.Accounts != 0 || !got.OtherKey || !slices.Equal(got.LoginsTaken, []string{"bob@one"}) {
				t.Errorf("%+v", got)
			}
			size, err := l.Size(ctx)
			must(t, err)
			if size != 10 { // nine of the backup and the elm
				t.Errorf("%d entries, want 10", size)
			}
			now := held(t, s)[org]
			for _, name := range []string{"firm", "elm", "n1", "phone"} {
				if strings.Count(now.Export, string(h.Entry(name).Line)) != 1 {
					t.Errorf("%s is not there once", name)
				}
			}
			if len(now.Blobs) != 2 || now.Accounts[0] != newer || now.Key != string(h.Signer("elsewhere")) {
				t.Errorf("%+v", now)
			}
			if _, err := journal.Verify(strings.NewReader(now.Export)); err != nil {
				t.Error(err)
			}
		})
	}
}

// While a server writes, a backup has the journal of one moment and every picture
// that is named in it.
func TestWhileOthersWrite(t *testing.T) {
	for name, open := range engines {
		t.Run(name, func(t *testing.T) {
			s := open(t)
			h, l := firm(t, s, "one")
			ctx, stop := context.WithCancel(t.Context())
			var writing sync.WaitGroup
			writing.Go(func() {
				for i := 0; ctx.Err() == nil; i++ {
					sum, err := l.PutBlob(t.Context(), fmt.Appendf(nil, "picture %d", i), h.Now())
					if err == nil {
						err = h.Tell(fmt.Sprintf("office: p%d note tree oak text='%s'\n", i, sum))
					}
					if err == nil {
						_, err = l.Merge(t.Context(), h.Lines(fmt.Sprintf("p%d", i)), h.Now(), nil)
					}
					if err != nil {
						t.Error(err)
						return
					}
				}
			})
			var files [][]byte
			for range 5 {
				files = append(files, written(t, s))
			}
			stop()
			writing.Wait()
			for _, file := range files {
				fresh := mem.New()
				_, err := Restore(t.Context(), fresh, bytes.NewReader(file), night)
				must(t, err)
				namedPicturesAreThere(t, held(t, fresh)[l.Org()])
			}
		})
	}
}

func namedPicturesAreThere(t *testing.T, h holding) {
	t.Helper()
	for line := range strings.Lines(h.Export) {
		_, after, _ := strings.Cut(line, `"text":"`)
		var sum journal.Hash
		if len(after) < 64 || sum.UnmarshalText([]byte(after[:64])) != nil {
			continue
		}
		if _, ok := h.Blobs[sum]; !ok {
			t.Errorf("picture %s is named and not there", sum)
		}
	}
	if _, err := journal.Verify(strings.NewReader(h.Export)); err != nil {
		t.Error(err)
	}
}

// A pipe cannot be read twice, and an empty store has a backup too.
func TestPipeAndNothing(t *testing.T) {
	room := t.TempDir()
	t.Setenv("TMPDIR", room)
	old, fresh := mem.New(), mem.New()
	for n := range 2 {
		r, w := io.Pipe()
		go func() { w.CloseWithError(Write(t.Context(), old, w, night)) }()
		rep, err := Restore(t.Context(), fresh, r, night)
		must(t, err)
		if len(rep.Orgs) != n || !reflect.DeepEqual(held(t, fresh), held(t, old)) {
			t.Errorf("%d organisations: %+v", n, rep)
		}
		if n == 0 {
			firm(t, old, "one")
		}
	}
	left, err := os.ReadDir(room)
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// Reference: Python's tarfile, gzip, hashlib and json read the file as
// doc/backup-format.md has it.
func TestPythonReadsIt(t *testing.T) {
	python := outside.Python(t)
	s := mem.New()
	firm(t, s, "one")
	firm(t, s, "two")
	file := filepath.Join(t.TempDir(), "backup")
	must(t, os.WriteFile(file, written(t, s), 0o600))
	const script = `import sys, tarfile, hashlib, json
t = tarfile.open(sys.argv[1], "r:gz")
names = t.getnames()
m = json.load(t.extractfile("manifest.json"))
assert m["format"] == 1 and names[-1] == "manifest.json" and names[:-1] == [x["name"] for x in m["members"]]
for x in m["members"]:
    b = t.extractfile(x["name"]).read()
    assert len(b) == x["size"] and hashlib.sha256(b).hexdigest() == x["sha256"], x
    assert t.getmember(x["name"]).mode == 0o600
    if "/blobs/" in x["name"]:
        assert x["name"].endswith(x["sha256"])
for o in m["orgs"]:
    lines = t.extractfile("org/%s/journal.ndjson" % o["id"]).read().decode().splitlines()
    assert sum(l.startswith('{"entry":') for l in lines) == o["entries"] and o["head"] in lines
print(json.dumps(names))`
	out, err := exec.Command(python, "-c", script, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var names []string
	must(t, json.Unmarshal(out, &names))
	if len(names) != 2*6+1 {
		t.Errorf("%v", names)
	}
	outside.Ran(t, "Python tarfile, hashlib", "reads a backup of two organisations, all sums as the manifest has them")
}

// many is a store with 1,000 entries more.
func many(b *testing.B) store.Store {
	s := mem.New()
	h, l := firm(b, s, "one")
	var lines [][]byte
	for i := range 1000 {
		e, err := h.Write("office", fmt.Sprintf("m%d note tree oak", i))
		must(b, err)
		lines = append(lines, e.Line)
	}
	_, err := l.Merge(b.Context(), lines, h.Now(), nil)
	must(b, err)
	return s
}

func BenchmarkWrite(b *testing.B) {
	s := many(b)
	for b.Loop() {
		must(b, Write(b.Context(), s, io.Discard, night))
	}
	b.ReportMetric(float64(1009*b.N)/b.Elapsed().Seconds(), "entries/s")
}

// Most of it is the store, which checks every signature.
func BenchmarkRestore(b *testing.B) {
	file := written(b, many(b))
	for b.Loop() {
		_, err := Restore(b.Context(), mem.New(), bytes.NewReader(file), night)
		must(b, err)
	}
	b.ReportMetric(float64(1009*b.N)/b.Elapsed().Seconds(), "entries/s")
}

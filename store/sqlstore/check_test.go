package sqlstore

import (
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/internal/pgtest"
	"sapwell/journal"
)

// Each of these is done to a sound store by somebody with a database tool.
var damages = []struct{ name, text, want string }{
	{"an entry gone", `DELETE FROM entry WHERE n = 7`, "want one for each number from 0"},
	{"the first gone", `DELETE FROM entry WHERE n = 0`, "want one for each number from 0"},
	{"the last of a chain gone", `DELETE FROM entry WHERE n = (SELECT max(n) FROM entry)`, "its last entry is missing"},
	{"an end forgotten", `DELETE FROM tip WHERE seq > 1`, "it has no last entry"},
	{"an end in the middle", `UPDATE tip SET seq = seq - 1, hash = (SELECT e.prev FROM entry e WHERE e.org = tip.org AND e.device = tip.device AND e.seq = tip.seq AND e.hash = tip.hash) WHERE seq > 1`, "an entry follows"},
	{"another clock of the office", `UPDATE entry SET received = received + 1 WHERE n = 290`, "tile 1 of level 0"},
	{"another clock at the end", `UPDATE entry SET received = received + 1 WHERE n = 590`, "the last head"},
	{"another root", `UPDATE tile SET root = (SELECT root FROM tile WHERE i = 1) WHERE i = 0`, "tile 0 of level 0"},
	{"another schema", `DELETE FROM migration WHERE number = 4`, "3, want 4"},
}

func TestCheckFindsDamage(t *testing.T) {
	for _, c := range damages {
		t.Run(c.name, func(t *testing.T) {
			s := openTemp(t)
			defer s.Close() //nolint:errcheck // a test
			keys := daybook.Keys(1, 2)
			l := begun(t, s, written(t, keys, 600))
			if _, err := l.Head(t.Context(), keys[0], start); err != nil {
				t.Fatal(err)
			}
			if err := s.change(t.Context(), c.text); err != nil {
				t.Fatal(err)
			}
			for _, f := range s.Check(t.Context()) {
				if f.Err != nil && strings.Contains(f.Err.Error(), c.want) {
					return
				}
			}
			t.Errorf("nothing was found that says %q", c.want)
		})
	}
}

// Two programs may write to one store at once: each entry gets a number of its own,
// and none is left out.
func TestTwoProgramsWrite(t *testing.T) {
	path, url := filepath.Join(t.TempDir(), "sapwell.db"), pgtest.Start(t)
	for name, open := range map[string]func() *Store{
		"SQLite":     func() *Store { return openFile(t, path) },
		"PostgreSQL": func() *Store { return openURL(t, url) },
	} {
		t.Run(name, func(t *testing.T) {
			keys := daybook.Keys(1, 4)
			all := written(t, keys, 600)
			byDevice := make(map[journal.Hash][]journal.Entry)
			for _, e := range all[1:] {
				byDevice[e.Device] = append(byDevice[e.Device], e)
			}
			one, two := open(), open()
			defer one.Close() //nolint:errcheck // a test
			defer two.Close() //nolint:errcheck // a test
			begun(t, one, all[:1])
			var done sync.WaitGroup
			for i, s := range []*Store{one, two} {
				done.Go(func() { giveAll(t, &ledger{s, all[0].ID}, byDevice, i) })
			}
			done.Wait()
			l := &ledger{one, all[0].ID}
			if size, err := l.Size(t.Context()); err != nil || size != int64(len(all)) {
				t.Errorf("%d entries, %v; want %d", size, err, len(all))
			}
			if err := l.read(t.Context(), (*desk).check); err != nil {
				t.Error(err)
			}
		})
	}
}

// giveAll merges every device's entries, a few at a time; the other program sends
// the same, from the other end of the devices.
func giveAll(t *testing.T, l *ledger, byDevice map[journal.Hash][]journal.Entry, shift int) {
	for _, chain := range byDevice {
		for i := shift; i < len(chain)+7; i += 7 {
			gift := chain[:min(i, len(chain))] // with what is known already
			if m, err := l.Merge(t.Context(), lines(gift[max(0, len(gift)-20):]), start, nil); err != nil || len(m.Refused) > 0 {
				t.Errorf("%v %v", m.Refused, err)
				return
			}
		}
	}
}

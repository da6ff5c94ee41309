package sqlstore

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sapwell/internal/daybook"
	"sapwell/internal/outside"
	"sapwell/internal/pgtest"
	"sapwell/journal"
)

const outsideEntries = 600

// filled puts a few hundred entries and a head into a store.
func filled(t *testing.T, s *Store) (root journal.Hash, all []journal.Entry) {
	t.Helper()
	keys := daybook.Keys(3, 3)
	all = written(t, keys, outsideEntries)
	org, err := s.Found(t.Context(), lines(all[:1]), start)
	if err != nil {
		t.Fatal(err)
	}
	l := &ledger{s, org}
	for i := 1; i < len(all); i += 50 {
		if m, err := l.Merge(t.Context(), lines(all[i:min(i+50, len(all))]), start+int64(i), nil); err != nil || len(m.Refused) > 0 {
			t.Fatal(m.Refused, err)
		}
	}
	line, err := l.Head(t.Context(), keys[0], start)
	if err != nil {
		t.Fatal(err)
	}
	h, err := journal.ReadTreeHead(line)
	if err != nil {
		t.Fatal(err)
	}
	return h.Root, all
}

func output(t *testing.T, program string, args ...string) string {
	t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v: %s", program, err, out)
	}
	return strings.TrimSpace(string(out))
}

// strangersReading reads a store with what Python has by itself: every row against
// its line, and the root of the receipts by RFC 6962, section 2.1.
const strangersReading = `
import hashlib, json, sqlite3, sys
db = sqlite3.connect("file:%s?mode=ro" % sys.argv[1], uri=True)
sha = lambda b: hashlib.sha256(b).digest()
def root(leaves):
    if len(leaves) == 1: return leaves[0]
    k = 1
    while k * 2 < len(leaves): k *= 2
    return sha(b"\1" + root(leaves[:k]) + root(leaves[k:]))
leaves, clock = [], {}
for n, device, seq, hash, prev, id, held, received, line in db.execute(
        "SELECT n, device, seq, hash, prev, id, held, received, line FROM entry ORDER BY n"):
    e = json.loads(line)["entry"]
    assert n == len(leaves), n
    assert sha(b"\0" + line) == hash, n
    assert (e["device"], e["seq"], e["id"].replace("-", "")) == (device.hex(), seq, id.hex()), n
    assert e.get("prev", "0" * 64) == prev.hex(), n
    clock[hash] = max(e["time"], clock.get(prev, 0))
    assert clock[hash] == held, n
    receipt = '{"receipt":{"entry":"%s","n":%d,"time":%d,"v":1}}' % (hash.hex(), n, received)
    leaves.append(sha(b"\0" + receipt.encode()))
print(len(leaves), root(leaves).hex())
`

func TestStrangersReadSQLite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "sapwell.db")
	s := openFile(t, path)
	defer s.Close() //nolint:errcheck // a test
	root, all := filled(t, s)
	devices := make(map[journal.Hash]bool)
	for _, e := range all {
		devices[e.Device] = true
	}

	sqlite3 := outside.Tool(t, "sqlite3")
	for question, want := range map[string]string{
		"SELECT count(*) FROM entry":  fmt.Sprint(outsideEntries),
		"PRAGMA integrity_check":      "ok",
		"PRAGMA foreign_key_check":    "",
		"PRAGMA journal_mode":         "wal",
		"SELECT count(*) FROM device": fmt.Sprint(len(devices)),
		"SELECT count(*) FROM tip":    fmt.Sprint(len(devices)),
		"SELECT count(*) FROM tile":   "2", // 600 / 256
	} {
		if got := output(t, sqlite3, "-readonly", path, question); got != want {
			t.Errorf("sqlite3 says to %s: %s, want %s", question, got, want)
		}
	}
	outside.Ran(t, "sqlite3", "reads the open store; integrity_check; counts")

	want := fmt.Sprintf("%d %s", outsideEntries, root)
	if got := output(t, outside.Tool(t, "python3"), "-c", strangersReading, path); got != want {
		t.Errorf("python says %s, want %s", got, want)
	}
	outside.Ran(t, "Python: sqlite3, hashlib, json", "every column against its line, and the root of the receipts as RFC 6962 has it")
}

func TestStrangersReadPostgres(t *testing.T) {
	psql := outside.Tool(t, "psql")
	url := pgtest.Start(t)
	s := openURL(t, url)
	defer s.Close() //nolint:errcheck // a test
	filled(t, s)
	for question, want := range map[string]string{
		`SELECT count(*), max(n) FROM entry`:                                                                            fmt.Sprintf("%d|%d", outsideEntries, outsideEntries-1),
		`SELECT count(*) FROM entry WHERE hash = sha256('\x00'::bytea || line)`:                                         fmt.Sprint(outsideEntries),
		`SELECT count(*) FROM entry WHERE seq = (convert_from(line, 'UTF8')::json->'entry'->>'seq')::bigint`:            fmt.Sprint(outsideEntries),
		`SELECT count(*) FROM entry WHERE encode(device, 'hex') = convert_from(line, 'UTF8')::json->'entry'->>'device'`: fmt.Sprint(outsideEntries),
	} {
		if got := output(t, psql, url, "-Atc", question); got != want {
			t.Errorf("psql says to %s: %s, want %s", question, got, want)
		}
	}
	outside.Ran(t, "psql", "PostgreSQL's own sha256 and json agree with every row's hash, number and device")
}

package backup

import (
	"archive/tar"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"sapwell/journal"
	"sapwell/store/mem"
)

// untouched demands that a file is refused and nothing of it written.
func untouched(t *testing.T, file []byte) error {
	t.Helper()
	s := mem.New()
	_, err := Restore(t.Context(), s, bytes.NewReader(file), night)
	orgs, listErr := s.Orgs(t.Context())
	must(t, listErr)
	if n, _ := s.CountAccounts(t.Context()); err == nil || len(orgs) > 0 || n > 0 {
		t.Errorf("error %v, and %d organisations and %d accounts were written", err, len(orgs), n)
	}
	return err
}

func TestFlippedAndCutOff(t *testing.T) {
	s := mem.New()
	firm(t, s, "one")
	file, r := written(t, s), rand.New(rand.NewPCG(1, 2))
	for range 300 {
		bad := bytes.Clone(file)
		at := r.IntN(len(bad))
		if at >= 3 && at < 10 {
			continue // flags, time and system of gzip: not of the content
		}
		bad[at] ^= 1 << r.IntN(8)
		if untouched(t, bad) == nil {
			t.Fatalf("byte %d", at)
		}
	}
	for range 50 {
		_ = untouched(t, file[:r.IntN(len(file))])
	}
	_ = untouched(t, append(bytes.Clone(file), 0))
	_ = untouched(t, append(bytes.Clone(file), file...))
	_ = untouched(t, nil)
}

// packed is a part for pack.
type packed struct {
	name string
	data []byte
	typ  byte
}

// unpack takes a file apart.
func unpack(t testing.TB, file []byte) []packed {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(file))
	must(t, err)
	in := tar.NewReader(z)
	var parts []packed
	for {
		h, err := in.Next()
		if err == io.EOF {
			return parts
		}
		must(t, err)
		data, err := io.ReadAll(in)
		must(t, err)
		parts = append(parts, packed{h.Name, data, h.Typeflag})
	}
}

func pack(t testing.TB, parts []packed) []byte {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	out := tar.NewWriter(z)
	for _, p := range parts {
		h := &tar.Header{Name: p.name, Typeflag: p.typ, Mode: 0o600, Size: int64(len(p.data))}
		if p.typ != tar.TypeReg {
			h.Size, h.Linkname = 0, "/etc/passwd"
		}
		must(t, out.WriteHeader(h))
		if p.typ == tar.TypeReg {
			_, err := out.Write(p.data)
			must(t, err)
		}
	}
	must(t, errors.Join(out.Close(), z.Close()))
	return b.Bytes()
}

// sealed packs parts with a manifest that fits them, changed by change.
func sealed(t testing.TB, parts []packed, change func(*manifest)) []byte {
	t.Helper()
	var m manifest
	must(t, json.Unmarshal(parts[len(parts)-1].data, &m))
	m.Members = nil
	for _, p := range parts[:len(parts)-1] {
		m.Members = append(m.Members, fileSum{p.name, int64(len(p.data)), journal.Hash(sha256.Sum256(p.data))})
	}
	if change != nil {
		change(&m)
	}
	raw, err := json.Marshal(m)
	must(t, err)
	return pack(t, append(parts[:len(parts)-1:len(parts)-1], packed{manifestName, raw, tar.TypeReg}))
}

// Somebody may have made the file by hand, with sums that fit.
func TestMadeByHand(t *testing.T) {
	s := mem.New()
	_, l := firm(t, s, "one")
	whole := unpack(t, written(t, s))
	dir := "org/" + l.Org().String() + "/"
	with := func(name string, data string) []packed {
		return append([]packed{whole[0], {name, []byte(data), tar.TypeReg}}, whole[1:]...)
	}
	replaced := func(part, data string) []packed {
		parts := append([]packed(nil), whole...)
		for i := range parts {
			if parts[i].name == dir+part {
				parts[i].data = []byte(data)
			}
		}
		return parts
	}
	sum := strings.Repeat("ab", 32)
	for want, file := range map[string][]byte{
		`"/etc/cron.d/x" is no name`:               sealed(t, with("/etc/cron.d/x", ""), nil),
		`"../x" is no name`:                        sealed(t, with("../x", ""), nil),
		"key.json/../../x\" is no name":            sealed(t, with(dir+"key.json/../../x", ""), nil),
		`org/x/key.json" is no name`:               sealed(t, with("org/x/key.json", ""), nil),
		"is no name of a part":                     sealed(t, with(strings.ToUpper(dir)+"key.json", ""), nil),
		"blobs/xyz\" is no name":                   sealed(t, with(dir+"blobs/xyz", ""), nil),
		"its SHA-256 is e3b0c442":                  sealed(t, with(dir+"blobs/"+sum, ""), nil),
		"is there twice":                           sealed(t, append(whole[:1:1], whole...), nil),
		"of type '2', want a plain file":           pack(t, append([]packed{{dir + "key.json", nil, tar.TypeSymlink}}, whole...)),
		"of type '1', want a plain file":           pack(t, append([]packed{{dir + "key.json", nil, tar.TypeLink}}, whole...)),
		"of type '5', want a plain file":           pack(t, append([]packed{{dir, nil, tar.TypeDir}}, whole...)),
		"no manifest: it was cut off":              pack(t, whole[:len(whole)-1]),
		"stands behind the manifest":               pack(t, append(whole[:len(whole):len(whole)], packed{dir + "blobs/" + sum, nil, tar.TypeReg})),
		"stands before the journal":                sealed(t, append(append([]packed{}, whole[1:len(whole)-1]...), whole[0], whole[len(whole)-1]), nil),
		"has no journal":                           sealed(t, whole[len(whole)-1:], nil),
		"stands before the journal of its":         sealed(t, whole[1:], nil),
		"and the manifest names":                   sealed(t, whole, func(m *manifest) { m.Members = m.Members[1:] }),
		"and the manifest says":                    sealed(t, whole, func(m *manifest) { m.Members[1].SHA256[0] ^= 1 }),
		"1 journals, and the manifest names 0":     sealed(t, whole, func(m *manifest) { m.Orgs = nil }),
		"format 2, want 1: a newer Sapwell":        sealed(t, whole, func(m *manifest) { m.Format = 2 }),
		`unknown field "admin"`:                    sealed(t, replaced(accountsName, `{"accounts":[{"admin":true}]}`), nil),
		"something else follows the JSON":          sealed(t, replaced(accountsName, `{"accounts":[]}{}`), nil),
		"a key of 1 bytes, want 64":                sealed(t, replaced(keyName, `{"private":"AA=="}`), nil),
		"public half of the key does not fit":      sealed(t, replaced(keyName, `{"private":"`+strings.Repeat("AAAA", 21)+`AA=="}`), nil),
		"read: json: cannot unmarshal object into": sealed(t, replaced(asideName, `{}`), nil),
		"manifest.json: read: invalid":             pack(t, []packed{{manifestName, []byte("x"), tar.TypeReg}}),
		"no backup of Sapwell":                     []byte("PK\x03\x04 some other file"),
	} {
		if err := untouched(t, file); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// A journal that was changed with sums that fit is refused by the store, by its
// first bad line, and so is a line too many.
func TestJournalChangedByHand(t *testing.T) {
	s := mem.New()
	firm(t, s, "one")
	for name, change := range map[string]func(string) string{
		"a byte":       func(s string) string { return strings.Replace(s, `"v":1}`, `"v":2}`, 1) },
		"a line twice": func(s string) string { first, _, _ := strings.Cut(s, "\n"); return first + "\n" + s },
		"no line feed": func(s string) string { return strings.TrimSuffix(s, "\n") },
		"a line more":  func(s string) string { return s + "{}\n" },
	} {
		parts := unpack(t, written(t, s))
		parts[0].data = []byte(change(string(parts[0].data)))
		if err := untouched(t, sealed(t, parts, nil)); err == nil || !strings.Contains(err.Error(), "journal.ndjson") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A few bytes that unpack to very many end with an error, not with the memory.
func TestBomb(t *testing.T) {
	s := mem.New()
	_, l := firm(t, s, "one")
	parts := unpack(t, written(t, s))
	name := "org/" + l.Org().String() + "/blobs/" + strings.Repeat("ab", 32)
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	out := tar.NewWriter(z)
	must(t, out.WriteHeader(&tar.Header{Typeflag: tar.TypeReg, Name: name, Size: 1 << 40}))
	must(t, z.Close())
	if err := untouched(t, b.Bytes()); !strings.Contains(err.Error(), "want at most 104857600") {
		t.Error(err)
	}
	// Zeros without end behind the end of the tar.
	b.Reset()
	z = gzip.NewWriter(&b)
	out = tar.NewWriter(z)
	for _, p := range parts {
		must(t, out.WriteHeader(&tar.Header{Typeflag: tar.TypeReg, Name: p.name, Size: int64(len(p.data))}))
		_, err := out.Write(p.data)
		must(t, err)
	}
	must(t, out.Close())
	_, err := z.Write(make([]byte, maxPadding+1))
	must(t, errors.Join(err, z.Close()))
	if err := untouched(t, b.Bytes()); !strings.Contains(err.Error(), "something else follows") {
		t.Error(err)
	}
}

// Whatever the tar holds, a store is written to only when all of it is sound.
func FuzzRestore(f *testing.F) {
	s := mem.New()
	firm(f, s, "one")
	z, err := gzip.NewReader(bytes.NewReader(written(f, s)))
	must(f, err)
	whole, err := io.ReadAll(z)
	must(f, err)
	f.Add(whole)
	f.Add(whole[:len(whole)/2])
	f.Fuzz(func(t *testing.T, tarred []byte) {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, err := z.Write(tarred)
		must(t, errors.Join(err, z.Close()))
		fresh := mem.New()
		if _, err := Restore(t.Context(), fresh, &b, night); err == nil {
			_ = written(t, fresh)
		}
	})
}

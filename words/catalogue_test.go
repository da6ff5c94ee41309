package words

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"testing"
)

// Every language has every key, with the same blanks and the same count.
func TestLanguagesMatch(t *testing.T) {
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	langs := Languages()
	if !slices.Equal(langs, []string{"en", "es"}) {
		t.Errorf("languages %v, want en and es", langs)
	}
	keys := map[string]bool{}
	for _, messages := range all {
		for key := range messages {
			keys[key] = true
		}
	}
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		first, inFirst := all[langs[0]][key]
		for _, lang := range langs {
			m, ok := all[lang][key]
			if !ok {
				t.Errorf("%s: %s is missing", lang, key)
				continue
			}
			if !inFirst {
				continue
			}
			if m.By != first.By {
				t.Errorf("%s: %s counts by %q, in %s by %q", lang, key, m.By, langs[0], first.By)
			}
			if got, want := blanks(m), blanks(first); !maps.Equal(got, want) {
				t.Errorf("%s: %s has the blanks %v, in %s %v", lang, key, got, langs[0], want)
			}
		}
	}
}

// blanks are the names a message fills in, in either form. A message for one
// may say "one" for {n}, so the count itself is left out.
func blanks(m message) map[string]bool {
	names := map[string]bool{}
	for _, text := range []string{m.One, m.Other} {
		for _, piece := range strings.Split(text, "{")[1:] {
			name, _, _ := strings.Cut(piece, "}")
			if name != m.By {
				names[name] = true
			}
		}
	}
	return names
}

// Every text is there, is closed, and has blanks with plain names; no file says
// a key twice, and no two files of a language say the same key.
func TestMessagesAreWhole(t *testing.T) {
	names, err := fs.Glob(files, "*/*.json")
	if err != nil {
		t.Fatal(err)
	}
	where := map[string]string{}
	for _, name := range names {
		for _, key := range keysOf(t, name) {
			id := path.Dir(name) + " " + key
			if other := where[id]; other != "" {
				t.Errorf("%s is in %s and in %s", key, other, name)
			}
			where[id] = name
		}
		area, err := read(files, name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for key, m := range area {
			checkMessage(t, name+": "+key, m)
		}
	}
}

func checkMessage(t *testing.T, where string, m message) {
	t.Helper()
	texts := []string{m.Other}
	if m.By != "" {
		texts = append(texts, m.One)
	}
	for _, text := range texts {
		if strings.TrimSpace(text) == "" {
			t.Errorf("%s: the text is empty", where)
		}
		if strings.Count(text, "{") != strings.Count(text, "}") {
			t.Errorf("%s: a brace is not closed in %q", where, text)
		}
	}
	for name := range blanks(m) {
		if name == "" || strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
			t.Errorf("%s: {%s} is no name of a term", where, name)
		}
	}
}

// keysOf lists the keys of a flat JSON object as they stand, doubles included.
func keysOf(t *testing.T, name string) []string {
	t.Helper()
	b, err := fs.ReadFile(files, name)
	if err != nil {
		t.Fatal(err)
	}
	d := json.NewDecoder(bytes.NewReader(b))
	if _, err := d.Token(); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var keys []string
	for d.More() {
		key, err := d.Token()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		keys = append(keys, key.(string))
		var value json.RawMessage
		if err := d.Decode(&value); err != nil {
			t.Fatalf("%s: %s: %v", name, key, err)
		}
	}
	return keys
}

// A finding without a remedy, or a remedy without a finding, leaves a person alone.
func TestFindingsHaveRemedies(t *testing.T) {
	all, err := catalogue()
	if err != nil {
		t.Fatal(err)
	}
	for lang, messages := range all {
		for key := range messages {
			if code, ok := strings.CutPrefix(key, "finding."); ok {
				if _, ok := messages["remedy."+code]; !ok {
					t.Errorf("%s: %s has no remedy", lang, key)
				}
			}
			if code, ok := strings.CutPrefix(key, "remedy."); ok {
				if _, ok := messages["finding."+code]; !ok {
					t.Errorf("%s: %s has no finding", lang, key)
				}
			}
		}
	}
}

// catalogue is every message by language and key.
func catalogue() (map[string]map[string]message, error) {
	all := map[string]map[string]message{}
	for _, lang := range Languages() {
		messages, err := load(files, lang)
		if err != nil {
			return nil, err
		}
		all[lang] = messages
	}
	return all, nil
}

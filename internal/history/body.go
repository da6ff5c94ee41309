package history

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"sapwell/entries"
	"sapwell/journal"
)

// body makes kind and body of what the words say. Beside the table there are
// four more:
//
//	oak2 again oak note=leans            new facts of a thing
//	fix  amended h1 at_nm=250000000      corrects an entry or an earlier amendment
//	moon unknown                         of a kind that only a newer program knows
//	bad  raw tree {"v":1}                any body at all
//
// In key=value a number is a number, unless it stands in single quotes.
func (h *History) body(device, name, what string, told []string) (kind string, body []byte, err error) {
	args, members := split(told)
	if len(args) == 0 && (what == "again" || what == "amended" || what == "raw") {
		return "", nil, fmt.Errorf("%s of what?", what)
	}
	by := entries.Head{}
	if owner, ok := h.owners[device]; ok {
		by.By = h.ID(owner)
	}
	switch what {
	case "again":
		return h.again(by, h.Entry(args[0]), members)
	case "amended":
		return h.amended(by, args[0], members)
	case "unknown":
		return "moon.seen", []byte(`{"moon":"full","v":1}`), nil
	case "raw":
		return args[0], []byte(strings.Join(told[1:], " ")), nil
	}
	w, ok := words[what]
	if !ok {
		return "", nil, fmt.Errorf("no word %q", what)
	}
	if least := len(strings.Fields(strings.TrimSuffix(w.takes, "..."))); len(args) < least {
		return "", nil, fmt.Errorf("%s wants %s", what, w.takes)
	}
	b := w.body(writing{h, name, by, args})
	if body, err = entries.WriteBody(b); err == nil {
		body, err = set(body, members)
	}
	return b.Kind(), body, err
}

// split parts key=value from the rest.
func split(told []string) (args []string, members map[string]any) {
	members = make(map[string]any)
	for _, word := range told {
		key, value, ok := strings.Cut(word, "=")
		switch n, err := strconv.ParseInt(value, 10, 64); {
		case !ok:
			args = append(args, word)
		case err == nil:
			members[key] = n
		case value == "true":
			members[key] = true
		case strings.HasPrefix(value, "'"):
			members[key] = strings.Trim(value, "'")
		default:
			members[key] = value
		}
	}
	return args, members
}

// set writes members into a body.
func set(body []byte, members map[string]any) ([]byte, error) {
	all := make(map[string]any)
	from := json.NewDecoder(bytes.NewReader(body))
	from.UseNumber()
	if err := from.Decode(&all); err != nil {
		return nil, err
	}
	for key, value := range members {
		all[key] = value
	}
	text, err := json.Marshal(all)
	if err != nil {
		return nil, err
	}
	return journal.Canonical(text)
}

// again is a body of a thing that names the thing.
func (h *History) again(by entries.Head, e journal.Entry, members map[string]any) (kind string, body []byte, err error) {
	if _, ok := members[e.Kind]; !ok {
		members[e.Kind] = e.ID.String() // the member is called like the kind
	}
	if by.By != (journal.ID{}) {
		members["by"] = by.By.String()
	}
	body, err = set(e.Body, members)
	return e.Kind, body, err
}

// amended corrects the entry with this name, or what an amendment made of it.
func (h *History) amended(by entries.Head, name string, members map[string]any) (kind string, body []byte, err error) {
	e := h.Entry(name)
	a := entries.Amendment{Head: by, Of: e.ID, OfKind: e.Kind, Why: "misread", Before: e.Body}
	if why, ok := members["why"]; ok {
		a.Why = fmt.Sprint(why)
		delete(members, "why")
	}
	if read, err := entries.Read(e); err == nil {
		if earlier, ok := read.Body.(entries.Amendment); ok {
			a.Of, a.OfKind, a.Before = earlier.Of, earlier.OfKind, earlier.After
		}
	}
	if a.After, err = set(a.Before, members); err != nil {
		return "", nil, err
	}
	body, err = entries.WriteBody(a)
	return a.Kind(), body, err
}

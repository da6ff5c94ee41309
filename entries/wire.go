package entries

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strconv"

	"sapwell/journal"
)

// ErrUnknownKind and ErrUnknownVersion say that a newer program wrote the entry.
// It is kept and shown as what it is; only its meaning stays unread.
const (
	ErrUnknownKind    = unread("unknown kind of entry")
	ErrUnknownVersion = unread("unknown version of this kind of entry")
)

// unread is an error that cannot be changed.
type unread string

func (u unread) Error() string { return string(u) }

const (
	version = 1       // of every kind there is
	maxBody = 500_000 // bytes of a body, so that two of them fit in the line of an amendment
)

// kinds in the order of the work.
var kinds = []kind{
	kindOf[Org](), kindOf[Person](), kindOf[Certificate](), kindOf[DeviceEnrolled](), kindOf[DeviceRevoked](),
	kindOf[Grounds](), kindOf[Tree](), kindOf[Measurement](), kindOf[Condition](), kindOf[Wound](), kindOf[Closure](),
	kindOf[Label](), kindOf[Lot](), kindOf[Stock](),
	kindOf[Plan](), kindOf[VisitOpened](), kindOf[Hole](),
	kindOf[UnitSeated](), kindOf[UnitPressurised](), kindOf[UnitDrained](), kindOf[UnitStuck](), kindOf[UnitLifted](), kindOf[UnitLost](),
	kindOf[Tally](), kindOf[VisitClosed](), kindOf[BagSealed](), kindOf[BagHanded](),
	kindOf[Note](), kindOf[Photo](), kindOf[RecordFact](), kindOf[Amendment](), kindOf[Retired](),
}

var kindByName = byName(kinds)

// kind is one sort of body: its name, how it is written, and how it is read.
type kind struct {
	name  string
	codec codec
	read  func(*scanner) (Body, error)
}

func kindOf[T Body]() kind {
	var zero T
	c := codecOf(reflect.TypeFor[T]())
	return kind{zero.Kind(), c, func(s *scanner) (Body, error) {
		var b T
		err := c.read(s, reflect.ValueOf(&b).Elem())
		return b, err
	}}
}

func byName(all []kind) map[string]kind {
	m := make(map[string]kind, len(all))
	for _, k := range all {
		m[k.name] = k
	}
	return m
}

// Kinds lists the names of all kinds, in the order of the work.
func Kinds() []string {
	names := make([]string, len(kinds))
	for i, k := range kinds {
		names[i] = k.name
	}
	return names
}

// Read understands the body of an entry of the journal; Entry.Body holds a value,
// not a pointer. The body of an Amendment is read so far as to know that Before
// and After are bodies of its kind.
func Read(e journal.Entry) (Entry, error) {
	body, err := ReadBody(e.Kind, e.Body)
	if err != nil {
		return Entry{}, err
	}
	return Entry{ID: e.ID, Device: e.Device, Seq: e.Seq, Hash: e.Hash(), Time: e.Time, Body: body}, nil
}

// ReadBody understands a body. It must be in canonical form. Unknown members and
// what Check refuses are errors that name the member.
func ReadBody(kind string, body []byte) (Body, error) {
	k, known := kindByName[kind]
	if !known {
		return nil, fmt.Errorf("%q: %w", kind, ErrUnknownKind)
	}
	s := scanner{rest: body}
	b, err := k.read(&s)
	if err == nil && len(s.rest) > 0 {
		err = errTrailing
	}
	if err == nil && b.Said().V != version {
		err = fault("v", "%d, want %d", b.Said().V, version)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", kind, explain(body, err))
	}
	if err := checkBody(b, body); err != nil {
		return nil, fmt.Errorf("%s: %w", kind, err)
	}
	return b, nil
}

// explain puts a better reason in the place of err, where there is one: the
// scanner knows only that what it met is not what it wanted.
func explain(body []byte, err error) error {
	canonical, jsonErr := journal.Canonical(body)
	if jsonErr != nil {
		return jsonErr
	}
	if !bytes.Equal(canonical, body) {
		return errors.New("not in canonical form (RFC 8785)")
	}
	var members map[string]json.RawMessage
	if json.Unmarshal(body, &members) != nil {
		return fmt.Errorf("%.20s, want an object", body)
	}
	if v, convErr := strconv.Atoi(string(members["v"])); convErr == nil && v > version {
		return fmt.Errorf("v: %d, want %d: %w", v, version, ErrUnknownVersion)
	}
	return err
}

// checkBody adds to Check what only the bytes can tell.
func checkBody(b Body, body []byte) error {
	if b.Kind() != (Amendment{}).Kind() && len(body) > maxBody {
		return fmt.Errorf("%d bytes, want at most %d", len(body), maxBody)
	}
	return b.Check()
}

// WriteBody writes a body in canonical form, with Head.V set. It refuses what
// Check refuses.
func WriteBody(b Body) ([]byte, error) {
	k, known := kindByName[b.Kind()]
	if !known {
		return nil, fmt.Errorf("%q: %w", b.Kind(), ErrUnknownKind)
	}
	from := reflect.Indirect(reflect.ValueOf(b))
	v := reflect.New(from.Type()).Elem()
	v.Set(from)
	v.FieldByName("V").SetInt(version)
	body, err := k.codec.write(nil, v)
	if err == nil {
		err = checkBody(b, body)
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", k.name, err)
	}
	return body, nil
}

// Draft makes of a body what a journal can append. It refuses what Check refuses
// and sets Head.V.
func Draft(id journal.ID, time int64, b Body) (journal.Draft, error) {
	body, err := WriteBody(b)
	if err != nil {
		return journal.Draft{}, err
	}
	return journal.Draft{ID: id, Time: time, Kind: b.Kind(), Body: body}, nil
}

package entries

import (
	"encoding/json"

	"sapwell/journal"
)

// Note is a remark on anything.
type Note struct {
	Head
	On   Subject `json:"on"`
	Text string  `json:"text"`
}

// Photo is a picture of anything, kept elsewhere under the hash of its bytes.
type Photo struct {
	Head
	On     Subject      `json:"on"`
	SHA256 journal.Hash `json:"sha256"` // of the stored bytes
	Type   string       `json:"type"`   // image/jpeg, image/png
	Bytes  int64        `json:"bytes"`
	Width  int          `json:"width"`
	Height int          `json:"height"`
	Taken  int64        `json:"taken,omitempty"` // by the camera's clock, kept on purpose; ms since 1970
	Place  *Place       `json:"place,omitempty"` // by the camera, kept on purpose
	Note   string       `json:"note,omitempty"`
}

// RecordFact is a fact that a record has to bear and no other entry tells: the
// number of a contract, when a marker was put up, that a report was sent. Without a
// text the fact is taken back.
type RecordFact struct {
	Head
	On    Subject    `json:"on"`
	Over  journal.ID `json:"over,omitzero"` // the entry whose fact this one replaces
	Field string     `json:"field"`         // such as "contract.ref"
	Text  string     `json:"text,omitempty"`
	Why   string     `json:"why,omitempty"` // where it sets a rule of the program aside
}

// Amendment corrects what an entry said. The entry stays as it is; whoever reads
// it sees both. Before is the body as it was understood until now, After the body
// that should be read instead. Both are whole bodies of the same kind.
type Amendment struct {
	Head
	Of     journal.ID      `json:"of"`
	OfKind string          `json:"of_kind"`
	Why    string          `json:"why"`
	Before json.RawMessage `json:"before"`
	After  json.RawMessage `json:"after"`
}

// Retired takes a visit off the lists after the time it had to be kept. The
// entries stay in the journal.
type Retired struct {
	Head
	Visit journal.ID `json:"visit"`
	Why   string     `json:"why"`
}

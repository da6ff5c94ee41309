// Package backup answers: how does all that a store holds get into one file, and
// out of it again?
//
// The file is a tar packed with gzip, as doc/backup-format.md has it. It holds
// the signing keys of the organisations and the password hashes of people: keep
// it as you keep a key. It does not matter which engine the store runs on, so a
// backup of SQLite can be brought back into PostgreSQL.
package backup

import (
	"fmt"
	"regexp"
	"strings"

	"sapwell/accounts"
	"sapwell/journal"
)

const (
	format       = 1
	manifestName = "manifest.json"
	journalName  = "journal.ndjson"
	asideName    = "aside.json"
	accountsName = "accounts.json"
	keyName      = "key.json"
	blobDir      = "blobs/"

	maxBlob = 100 << 20 // as of a photo
	maxJSON = 256 << 20
)

// manifest is the last member of the file. It names all others, so a file that
// was cut off is known by its absence.
type manifest struct {
	Format  int       `json:"format"`
	Made    int64     `json:"made"`  // ms since 1970
	Store   string    `json:"store"` // engine and version, for people
	Orgs    []orgSum  `json:"orgs"`
	Members []fileSum `json:"members"`
}

// orgSum is what there should be of an organisation.
type orgSum struct {
	ID      journal.ID `json:"id"`
	Entries int64      `json:"entries"`
	Head    string     `json:"head,omitempty"` // the last signed head, a line
}

type fileSum struct {
	Name   string       `json:"name"`
	Size   int64        `json:"size"`
	SHA256 journal.Hash `json:"sha256"`
}

// aside is an entry that was not let into the journal.
type aside struct {
	Line string `json:"line"`
	Why  string `json:"why"`
	Time int64  `json:"time"`
}

// people is who may come in.
type people struct {
	Accounts []account `json:"accounts"`
}

type account struct {
	ID       string     `json:"id"`
	Person   journal.ID `json:"person"`
	Login    string     `json:"login"`
	Password string     `json:"password,omitempty"` // argon2id, PHC form
	Disabled bool       `json:"disabled,omitempty"`
	Made     int64      `json:"made"`
	Passkeys []passkey  `json:"passkeys,omitempty"`
}

type passkey struct {
	ID   []byte `json:"id"`
	Name string `json:"name"`
	Data []byte `json:"data"` // as it was kept, byte for byte
	Made int64  `json:"made"`
	Used int64  `json:"used,omitempty"`
}

type signingKey struct {
	Private []byte `json:"private"` // Ed25519: seed and public key
}

// member is where a part of an organisation stands in the file.
type member struct {
	org  journal.ID
	part string // as the names above; of a blob blobDir and its hash
}

func (m member) name() string { return "org/" + m.org.String() + "/" + m.part }

var memberName = regexp.MustCompile(`^org/([^/]{36})/(journal\.ndjson|aside\.json|accounts\.json|key\.json|blobs/[0-9a-f]{64})$`)

// readName takes a name apart. Names are never used as paths; one that is not
// exactly of our form is refused all the same.
func readName(name string) (member, error) {
	var m member
	parts := memberName.FindStringSubmatch(name)
	if parts == nil || m.org.UnmarshalText([]byte(parts[1])) != nil {
		return member{}, fmt.Errorf("%.200q is no name of a part of a backup", name)
	}
	m.part = parts[2]
	return m, nil
}

// blob is the hash in the name of a blob.
func (m member) blob() (sum journal.Hash, ok bool) {
	text, ok := strings.CutPrefix(m.part, blobDir)
	return sum, ok && sum.UnmarshalText([]byte(text)) == nil
}

// limit is the greatest size of a part; a journal may have any.
func (m member) limit() int64 {
	switch {
	case m.part == journalName:
		return 1 << 50
	case strings.HasPrefix(m.part, blobDir):
		return maxBlob
	}
	return maxJSON
}

func toAccount(a accounts.Account, keys []accounts.Passkey) account {
	out := account{ID: a.ID, Person: a.Person, Login: a.Login, Password: a.Password, Disabled: a.Disabled, Made: a.Made}
	for _, k := range keys {
		out.Passkeys = append(out.Passkeys, passkey{ID: k.ID, Name: k.Name, Data: k.Data, Made: k.Made, Used: k.Used})
	}
	return out
}

func fromAccount(a account, org journal.ID) (accounts.Account, []accounts.Passkey) {
	var keys []accounts.Passkey
	for _, k := range a.Passkeys {
		keys = append(keys, accounts.Passkey{ID: k.ID, Account: a.ID, Name: k.Name, Data: k.Data, Made: k.Made, Used: k.Used})
	}
	return accounts.Account{ID: a.ID, Org: org, Person: a.Person, Login: a.Login, Password: a.Password, Disabled: a.Disabled, Made: a.Made}, keys
}

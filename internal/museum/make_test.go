package museum

import (
	"bytes"
	"crypto/ed25519"
	"encoding/hex"
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"sapwell/internal/history"
	"sapwell/journal"
	"sapwell/store/mem"
)

// model is the sound journal that all exhibits come from: two devices, receipts,
// two heads.
type model struct {
	*history.History
	lines []string // with line feeds
}

const (
	early = `
office: firm org
office: boss person office
office: desk enrolled office boss
office: park grounds
office: oak tree park
`
	late = `
phone: day visit park boss oak oak
phone: h1 hole day oak 100
phone: word note tree oak
`
)

func makeModel(t *testing.T) *model {
	t.Helper()
	h := history.New("museum")
	must(t, h.Tell(early))
	s := mem.New()
	org, err := s.Found(t.Context(), h.Lines("firm boss desk park oak"), h.Now())
	must(t, err)
	l, err := s.Ledger(t.Context(), org)
	must(t, err)
	_, err = l.Head(t.Context(), h.Signer("office"), h.Now())
	must(t, err)
	must(t, h.Tell(late))
	_, err = l.Merge(t.Context(), h.Lines("day h1 word"), h.Now(), nil)
	must(t, err)
	_, err = l.Head(t.Context(), h.Signer("office"), h.Now())
	must(t, err)
	var export bytes.Buffer
	must(t, l.Export(t.Context(), &export))
	return &model{h, slices.Collect(strings.Lines(export.String()))}
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// at is where the line of an entry stands, from 0.
func (m *model) at(name string) int {
	return slices.Index(m.lines, string(m.Entry(name).Line)+"\n")
}

// first is where the first line with this beginning stands, after skipping some.
func (m *model) first(beginning string, skip int) int {
	for i, line := range m.lines {
		if strings.HasPrefix(line, beginning) {
			if skip == 0 {
				return i
			}
			skip--
		}
	}
	panic("no line " + beginning)
}

func (m *model) receipt(n int) int { return m.first(`{"receipt":`, n) }
func (m *model) head(n int) int    { return m.first(`{"head":`, n) }

// change replaces the first occurrence of a text in a line.
func (m *model) change(i int, from, to string) int {
	if !strings.Contains(m.lines[i], from) {
		panic(fmt.Sprintf("no %s in %s", from, m.lines[i]))
	}
	m.lines[i] = strings.Replace(m.lines[i], from, to, 1)
	return i + 1
}

// digit puts another hex digit in the place of the one after a text.
func (m *model) digit(i int, after string) int {
	at := strings.Index(m.lines[i], after) + len(after)
	other := "0"
	if m.lines[i][at] == '0' {
		other = "1"
	}
	m.lines[i] = m.lines[i][:at] + other + m.lines[i][at+1:]
	return i + 1
}

func (m *model) remove(i int)              { m.lines = slices.Delete(m.lines, i, i+1) }
func (m *model) insert(i int, line string) { m.lines = slices.Insert(m.lines, i, line) }

// resign signs a line again with the device's own key, as its holder can.
func (m *model) resign(i int, domain, opening, device string) {
	line := strings.TrimSuffix(m.lines[i], "\n")
	body := line[:strings.LastIndex(line, `,"sig":"`)]
	sig := ed25519.Sign(m.Signer(device), []byte("sapwell journal 1 "+domain+"\n"+body[len(opening):]))
	m.lines[i] = fmt.Sprintf("%s,\"sig\":\"%x\"}\n", body, sig)
}

func (m *model) resignEntry(name, device, from, to string) int {
	i := m.at(name)
	m.change(i, from, to)
	m.resign(i, "entry", `{"entry":`, device)
	return i + 1
}

// exhibit breaks the model in one way. make returns the line at which it shows.
type exhibit struct {
	name, broken, says string
	make               func(m *model) int
}

func hash(line string) string {
	return journal.HashLine([]byte(strings.TrimSuffix(line, "\n"))).String()
}

// order of the group of Ed25519: 2^252 + 27742317777372353535851937790883648493
// (RFC 8032, section 5.1).
func order() *big.Int {
	l, _ := new(big.Int).SetString("27742317777372353535851937790883648493", 10)
	return l.Add(l, new(big.Int).Lsh(big.NewInt(1), 252))
}

// unreduced adds the order to the second half of a signature: the same number to
// a reader that reduces it.
func (m *model) unreduced(i int) int {
	line := m.lines[i]
	at := strings.LastIndex(line, `"sig":"`) + len(`"sig":"`) + 64
	le, _ := hex.DecodeString(line[at : at+64])
	slices.Reverse(le)
	s := new(big.Int).Add(new(big.Int).SetBytes(le), order())
	le = s.FillBytes(make([]byte, 32))
	slices.Reverse(le)
	m.lines[i] = line[:at] + hex.EncodeToString(le) + line[at+64:]
	return i + 1
}

package main

import (
	"bytes"
	"context"
	"crypto"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"sapwell/documents"
	"sapwell/documents/files"
	"sapwell/dossier"
	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/gather"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/store"
	"sapwell/views"
)

type inspectCmd struct {
	Period period `embed:""`
	Out    string `short:"o" placeholder:"DIR" help:"Folder to make; it must not be there yet."`
	Check  string `placeholder:"DIR" help:"Check such a folder instead of making one. Needs no store."`
	Paper  string `enum:"letter,a4" default:"letter" help:"Paper: letter or a4."`
	where
	whose
}

// period is the days that are meant, both included; a day left out is open.
type period struct {
	From string `placeholder:"DAY" help:"First day, such as 2026-01-01."`
	To   string `placeholder:"DAY" help:"Last day."`
}

func (p period) days() (from, to quantity.Date, err error) {
	for _, d := range []struct {
		flag, text string
		day        *quantity.Date
	}{{"--from", p.From, &from}, {"--to", p.To, &to}} {
		if d.text == "" {
			continue
		}
		if *d.day, err = quantity.ParseDate(d.text); err != nil {
			return from, to, usage{fmt.Errorf("%s: %w", d.flag, err)}
		}
	}
	if !to.IsZero() && to.Before(from) {
		return from, to, usage{fmt.Errorf("--to: %s lies before --from, %s", to, from)}
	}
	return from, to, nil
}

// Run makes the folder that doc/dossier.md tells of, or checks one.
func (c inspectCmd) Run(w world) error {
	if c.Check != "" {
		return c.check(w)
	}
	from, to, err := c.Period.days()
	if err != nil {
		return err
	}
	if c.Out == "" {
		return usage{errors.New("--out: missing; want the name of a folder that is not there yet")}
	}
	return c.signing(w, c.where, func(ctx context.Context, l store.Ledger, signer crypto.Signer) error {
		return inFolder(c.Out, func(dir string) error {
			i := &inspection{world: w, ctx: ctx, ledger: l, signer: signer, dir: dir, from: from, to: to, paper: documents.Paper(c.Paper), names: map[string]bool{}}
			return i.make()
		})
	})
}

// inFolder makes a folder whole or not at all: beside its place first.
func inFolder(name string, fill func(dir string) error) error {
	if _, err := os.Lstat(name); err == nil {
		return usage{fmt.Errorf("--out: %s is there already; name a folder that is not", name)}
	}
	above := filepath.Dir(filepath.Clean(name))
	dir, err := os.MkdirTemp(above, "."+filepath.Base(name)+".*")
	if errors.Is(err, fs.ErrNotExist) {
		return usage{fmt.Errorf("--out: %s: the folder %s is not there; make it first", name, above)}
	}
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir) // after the rename there is nothing left to remove
	if err := fill(dir); err != nil {
		return err
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		return err
	}
	return os.Rename(dir, name)
}

// inspection is a folder on its way.
type inspection struct {
	world
	ctx      context.Context
	ledger   store.Ledger
	signer   crypto.Signer
	dir      string
	from, to quantity.Date
	paper    documents.Paper

	names  map[string]bool // of papers, in use
	firm   string
	zone   *time.Location
	rows   []indexRow
	labels []indexLabel
	people []*views.Person
	shared []entries.Subject // what several visits rest on
	own    []restsOn
	kept   []dossier.File
}

// restsOn is what one visit alone rests on.
type restsOn struct {
	visit    string
	subjects []entries.Subject
}

func (i *inspection) make() error {
	if err := i.ledger.Read(i.ctx, i.read); err != nil {
		return err
	}
	if len(i.rows) == 0 {
		return refused{errors.New(i.say.Say("inspect.none"))}
	}
	if err := i.put("people.csv", i.writePeople); err != nil {
		return err
	}
	head, err := i.ledger.Head(i.ctx, i.signer, i.now().UnixMilli())
	if err != nil {
		return err
	}
	if err := i.prove(head); err != nil {
		return err
	}
	if err := i.put("index.html", i.writeIndex); err != nil {
		return err
	}
	sum, err := i.seal(head)
	if err != nil {
		return err
	}
	wrapTo(i.stdout, "", i.say.Say("inspect.made", count("n", len(i.rows)), count("files", len(i.kept)+1)))
	wrapTo(i.stdout, "", i.say.Say("inspect.sum"))
	fmt.Fprintf(i.stdout, "  %x\n", sum)
	return nil
}

// read writes papers, data and labels, and notes what they rest on.
func (i *inspection) read(r store.Reader) error {
	g, err := gather.New(r, i.ledger.Org(), i.now())
	if err != nil {
		return err
	}
	i.firm, i.zone = g.Org.Facts.Name, g.Zone
	i.rest(entries.OfOrg, g.Org.ID)
	for visit, err := range g.Visits(i.from, i.to, false) {
		if err != nil {
			return err
		}
		facts, err := g.Facts(visit)
		if err != nil {
			return err
		}
		if err := i.visit(facts); err != nil {
			return err
		}
	}
	return nil
}

func (i *inspection) visit(f records.Facts) error {
	own := restsOn{f.Visit.ID, []entries.Subject{{Kind: entries.OfVisit, ID: f.Visit.ID}}}
	for _, t := range f.Trees {
		own.subjects = append(own.subjects, entries.Subject{Kind: entries.OfTree, ID: t.ID})
	}
	for _, b := range f.Bags {
		own.subjects = append(own.subjects, entries.Subject{Kind: entries.OfBag, ID: b.ID})
	}
	i.own = append(i.own, own)
	i.rest(entries.OfGrounds, f.Grounds.ID)
	for _, l := range f.Lots {
		i.rest(entries.OfLot, l.ID)
	}
	for _, p := range f.People {
		if i.rest(entries.OfPerson, p.ID) {
			i.people = append(i.people, p)
		}
	}
	for _, l := range f.Labels {
		if i.rest(entries.OfLabel, l.View.ID) {
			if err := i.label(l.View); err != nil {
				return err
			}
		}
	}
	for _, rec := range records.Of(f) {
		if err := i.record(rec); err != nil {
			return err
		}
	}
	return nil
}

// rest notes what several visits may rest on; false: it was noted before.
func (i *inspection) rest(kind entries.SubjectKind, id string) bool {
	s := entries.Subject{Kind: kind, ID: id}
	if id == "" || slices.Contains(i.shared, s) {
		return false
	}
	i.shared = append(i.shared, s)
	return true
}

func (i *inspection) label(v *views.Label) error {
	name := i.name("labels/"+plainName(v.Facts.Name+"-"+v.Facts.Version.String()), ".yaml")
	i.labels = append(i.labels, indexLabel{v.Facts.Product, v.Facts.Version.String(), v.Facts.RegNo, v.Facts.Fictional, name})
	return i.put(name, func(out io.Writer) error { _, err := io.WriteString(out, v.Facts.File); return err })
}

func (i *inspection) record(r records.Record) error {
	profiles, _ := r.Chosen()
	base := i.name("records/"+plainName(r.Text("date")+"-"+r.Text("tree.id")), "")
	row := indexRow{record: r, Paper: base + ".pdf", Data: base + ".json", Misses: i.misses(r)}
	i.rows = append(i.rows, row)
	err := i.put(row.Paper, func(out io.Writer) error {
		return documents.TreatmentRecord(out, r, profiles, i.say, i.paper)
	})
	if err != nil {
		return err
	}
	return i.put(row.Data, func(out io.Writer) error { _, err := out.Write(append(r.JSON(), '\n')); return err })
}

// name makes a name that no other file has.
func (i *inspection) name(base, ending string) string {
	name := base + ending
	for n := 2; i.names[strings.ToLower(name)]; n++ { // many file systems do not tell A from a
		name = fmt.Sprintf("%s-%d%s", base, n, ending)
	}
	i.names[strings.ToLower(name)] = true
	return name
}

// plainName keeps what every file system takes.
func plainName(text string) string {
	plain := strings.Map(func(r rune) rune {
		if r < 0x80 && (r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || strings.ContainsRune("-_.", r)) {
			return r
		}
		return '_'
	}, text)
	return plain[:min(len(plain), 100)]
}

// put writes a file of the folder and notes it for the manifest.
func (i *inspection) put(name string, write func(io.Writer) error) error {
	to := filepath.Join(i.dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return err
	}
	var data bytes.Buffer
	if err := write(&data); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	i.kept = append(i.kept, dossier.Of(name, data.Bytes()))
	return os.WriteFile(to, data.Bytes(), 0o644)
}

func (i *inspection) writePeople(out io.Writer) error {
	table := files.NewCSV(out, "name", "roles", "sort", "number", "authority", "categories", "from", "until", "withdrawn")
	for _, p := range i.people {
		name, roles := files.Guard(p.Facts.Name), strings.Join(roleNames(p.Facts.Roles), " ")
		for _, h := range p.Certificates {
			table.Row(name, roles, h.Sort, files.Guard(h.Number), files.Guard(h.Authority), files.Guard(strings.Join(h.Categories, "; ")), h.From.String(), dayOrNone(h.Until), yesOrNo(h.Withdrawn))
		}
		if len(p.Certificates) == 0 {
			table.Row(name, roles, "", "", "", "", "", "", "")
		}
	}
	return table.Close()
}

func roleNames(roles []entries.Role) (names []string) {
	for _, r := range roles {
		names = append(names, string(r))
	}
	return names
}

func dayOrNone(d quantity.Date) string {
	if d.IsZero() {
		return ""
	}
	return d.String()
}

func yesOrNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}

// prove writes for every visit, and for what they share, the proofs of all entries
// that speak of it.
func (i *inspection) prove(head []byte) error {
	read, err := journal.ReadTreeHead(head)
	if err != nil {
		return err
	}
	all := append([]restsOn{{"shared", i.shared}}, i.own...)
	for _, rests := range all {
		ids, err := i.speaking(rests.subjects)
		if err != nil {
			return err
		}
		e := journal.Evidence{Head: string(head)}
		for _, id := range ids {
			p, err := i.ledger.Proof(i.ctx, id, read.Size)
			if err != nil {
				return fmt.Errorf("entry %s: %w", id, err)
			}
			e.Proofs = append(e.Proofs, provenBy(p))
		}
		err = i.put("proofs/"+rests.visit+".json", func(out io.Writer) error {
			enc := json.NewEncoder(out)
			enc.SetEscapeHTML(false)
			return enc.Encode(e)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// speaking lists the entries that speak of any of these, each once.
func (i *inspection) speaking(of []entries.Subject) (ids []journal.ID, err error) {
	seen := map[journal.ID]bool{}
	err = i.ledger.Read(i.ctx, func(r store.Reader) error {
		for _, s := range of {
			es, err := r.Entries(s)
			if err != nil {
				return err
			}
			for _, e := range es {
				if !seen[e.ID] {
					seen[e.ID] = true
					ids = append(ids, e.ID)
				}
			}
		}
		return nil
	})
	return ids, err
}

// last is the last day that is meant: today, where nobody said.
func (i *inspection) last() quantity.Date {
	if i.to.IsZero() {
		return quantity.DateOf(i.now().In(i.zone))
	}
	return i.to
}

// seal writes the manifest and returns its SHA-256.
func (i *inspection) seal(head []byte) ([sha256.Size]byte, error) {
	manifest, err := dossier.Seal(dossier.Manifest{
		Org: i.ledger.Org().String(), From: dayOrNone(i.from), To: i.last().String(), Made: i.now().In(i.zone).Format(time.RFC3339),
		Head: string(head), Files: i.kept,
	}, i.signer)
	if err != nil {
		return [sha256.Size]byte{}, err
	}
	return sha256.Sum256(manifest), os.WriteFile(filepath.Join(i.dir, dossier.Name), manifest, 0o644)
}

// readable is a moment as a person reads it, to the minute, its offset with it; what is
// no moment stays as it is.
func readable(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return moment
	}
	return strings.Replace(t.Format("2006-01-02 15:04 -07:00"), " -", " −", 1)
}

// check says of every file whether it is what was handed over.
func (c inspectCmd) check(w world) error {
	root := os.DirFS(c.Check)
	raw, err := fs.ReadFile(root, dossier.Name)
	if errors.Is(err, fs.ErrNotExist) {
		return refused{errors.New(w.say.Say("inspect.no_manifest", why.T("folder", c.Check)))}
	}
	if err != nil {
		return err
	}
	m, err := dossier.Open(raw)
	if err != nil {
		return refused{fmt.Errorf("%s: %w", c.Check, err)}
	}
	var there []string
	faults := 0
	tell := func(text string) {
		faults++
		fmt.Fprintln(w.stderr, "sapwell: "+text)
	}
	err = fs.WalkDir(root, ".", func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || name == dossier.Name {
			return err
		}
		data, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		there = append(there, name)
		if err := m.CheckFile(dossier.Of(name, data), data); err != nil {
			tell(err.Error())
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, name := range m.Gone(there) {
		tell(w.say.Say("inspect.gone", why.T("file", name)))
	}
	if faults > 0 {
		return refused{errors.New(w.say.Say("inspect.broken", count("n", faults)))}
	}
	head, err := journal.ReadTreeHead([]byte(m.Head))
	if err != nil {
		return err
	}
	wrapTo(w.stdout, "", w.say.Say("inspect.sound", count("n", len(there)), why.T("made", readable(m.Made)), why.T("time", readable(moment(head.Time)))))
	fmt.Fprintf(w.stdout, "  %s\n", m.Key)
	return nil
}

package main

import (
	"bytes"
	"context"
	"crypto"
	"crypto/ed25519"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"sapwell/actions"
	"sapwell/engine/quantity"
	"sapwell/engine/verdict"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/records"
	"sapwell/store"
	"sapwell/treelist"
	"sapwell/views"
)

// scribe does deeds one after the other at moments of the invented day.
type scribe struct {
	ctx    context.Context
	ledger store.Ledger
	signer crypto.Signer
	by     journal.ID
	at     time.Time
	zone   *time.Location
	newID  func() (journal.ID, error)
	err    error // the first; after it nothing more is done
}

// obj is the input of a deed.
type obj map[string]any

// do has a deed done and returns the id its result names.
func (s *scribe) do(name string, in obj) journal.ID {
	var made struct{ ID journal.ID }
	s.deed(name, in, &made)
	return made.ID
}

// deed has a deed done and reads its result.
func (s *scribe) deed(name string, in obj, result any) {
	if s.err != nil {
		return
	}
	if s.err = s.try(name, in, result); s.err != nil {
		s.err = fmt.Errorf("demo: %s: %w", name, s.err)
	}
}

func (s *scribe) try(name string, in obj, result any) error {
	deeds := actions.Deeds()
	i := slices.IndexFunc(deeds, func(d actions.Deed) bool { return d.Name == name })
	if i < 0 {
		return actions.ErrNoDeed
	}
	input, err := json.Marshal(in)
	if err != nil {
		return err
	}
	now := s.at.UnixMilli()
	public, _ := s.signer.Public().(ed25519.PublicKey)
	var outcome actions.Outcome
	_, err = s.ledger.Write(s.ctx, s.signer, now, func(v store.Reader) ([]journal.Draft, error) {
		outcome, err = deeds[i].Do(actions.Moment{By: s.by, Device: sha256.Sum256(public), Now: now, Zone: s.zone, KeepAt: records.KeepAt, NewID: s.newID}, v, input)
		return outcome.Drafts, err
	})
	if err != nil {
		return err
	}
	out, err := json.Marshal(outcome.Result)
	if err != nil {
		return err
	}
	return json.Unmarshal(out, result)
}

// after lets time pass.
func (s *scribe) after(d time.Duration) { s.at = s.at.Add(d) }

// fillDemo writes the invented organisation and its day into an empty store, so
// that the day ends now: one visit closed hours ago, one open with units out.
func (w world) fillDemo(ctx context.Context, st store.Store) error {
	start := w.now().Add(-5 * time.Hour)
	zone, err := time.LoadLocation(zoneHere())
	if err != nil {
		return err
	}
	early := w
	early.now = func() time.Time { return start }
	founding, err := early.found(ctx, st, actions.FoundInput{
		Name: "Quillmere Tree Care (invented)", Country: "US", Region: "OH", Zone: zone.String(), KeepYears: keepYears,
		Person: "Alder Fenn (invented)", Roles: []entries.Role{entries.Office, entries.Applicator}, Device: "Office",
	})
	if err != nil {
		return err
	}
	ledger, err := st.Ledger(ctx, founding.Org)
	if err != nil {
		return err
	}
	signer, err := signerOf(ctx, st, founding.Org)
	if err != nil {
		return err
	}
	s := &scribe{ctx: ctx, ledger: ledger, signer: signer, by: founding.Person, at: start, zone: zone}
	s.newID = newIDs(func() time.Time { return s.at })
	d := demoOf{scribe: s, org: founding.Org, today: quantity.DateOf(w.now().In(zone))}
	d.people()
	d.stock()
	d.trees()
	d.morning()
	d.now(w.now())
	return s.err
}

// demoOf is the invented day as it is written down.
type demoOf struct {
	*scribe
	org     journal.ID
	today   quantity.Date
	trainee journal.ID
	grounds journal.ID
	lots    map[string][]demoLot // by label
	plans   []demoJob            // of trees that may be worked on
}

type demoLot struct {
	id   journal.ID
	size quantity.Volume
	left int
}

type demoJob struct {
	tree, plan journal.ID
	label      string
	units      int
	size       quantity.Volume
}

func (d *demoOf) people() {
	year := d.today.Year()
	d.do("org.update", obj{"phone": "+1-555-0100", "reg_no": "INVENTED-B-1"})
	d.do("record.tell", obj{"on": obj{"kind": "org", "id": d.org}, "field": "ctx.commercial", "text": "yes"})
	d.do("person.certify", obj{"person": d.by, "sort": "certificate", "number": "INVENTED-0001", "authority": "Department of Agriculture of a state that does not exist",
		"categories": []string{"ornamental and shade tree"}, "from": fmt.Sprintf("%d-01-01", year-1), "until": fmt.Sprintf("%d-12-31", year+1)})
	d.trainee = d.do("person.add", obj{"name": "Rowan Pike (invented)", "roles": []string{"trainee"}, "supervisor": d.by})
	d.do("person.certify", obj{"person": d.trainee, "sort": "training", "authority": "Alder Fenn (invented)", "from": fmt.Sprintf("%d-01-15", year)})
	d.do("person.add", obj{"name": "Hazel Marrow (invented)", "roles": []string{"inspector"}})
	d.grounds = d.do("grounds.add", obj{"name": "Quillmere Green (invented)", "context": "amenity", "client": "Parish of Quillmere (invented)",
		"client_address": "1 Green Lane, Quillmere", "address": "Quillmere Green", "zip": "00000",
		"place": obj{"lat_e7": 411234000, "lon_e7": -831234000}, "note": "Gate by the pond. The dog is friendly."})
}

// stock brings in labels and lots. The lots' last days lie as far from today as
// they do from the day of the papers.
func (d *demoOf) stock() {
	d.lots = map[string][]demoLot{}
	names, _ := demoFiles.ReadDir("demo/labels")
	for _, n := range names {
		file, err := demoFiles.ReadFile("demo/labels/" + n.Name())
		if err != nil {
			d.err = err
			return
		}
		d.do("label.add", obj{"file": string(file)})
	}
	list, err := demoFiles.ReadFile("demo/lots.csv")
	if err != nil {
		d.err = err
		return
	}
	lots, faults := treelist.ReadLots("lots.csv", bytes.NewReader(list))
	if len(faults) > 0 {
		d.err = faults[0]
		return
	}
	that, err := quantity.ParseDate(demoDay)
	if err != nil {
		d.err = err
		return
	}
	for _, l := range lots {
		in := obj{"label": l.Label, "number": l.ID, "size": l.Size, "units": l.Units, "supplier": "Invented Supply", "coldest": l.Coldest, "warmest": l.Warmest,
			"expires": d.today.AddDate(0, 0, that.DaysTo(l.Expires))}
		id := d.do("lot.add", in)
		if that.DaysTo(l.Expires) > 0 {
			d.lots[l.Label] = append(d.lots[l.Label], demoLot{id, l.Size, l.Units})
		}
	}
}

// trees brings in the list and plans every tree on it.
func (d *demoOf) trees() {
	list, err := demoFiles.ReadFile("demo/trees.csv")
	if err != nil {
		d.err = err
		return
	}
	var done struct {
		Trees []struct {
			Tag string     `json:"tag"`
			ID  journal.ID `json:"id"`
		} `json:"trees"`
	}
	d.deed("tree.import", obj{"grounds": d.grounds, "csv": string(list)}, &done)
	for i, t := range done.Trees { // in rows of seven along the green, 9 m apart
		d.do("tree.update", obj{"tree": t.ID, "place": obj{"lat_e7": 411234000 - i/7*810, "lon_e7": -831234000 + i%7*1075}})
	}
	labels, rows := d.labels(), d.rows(list)
	for _, t := range done.Trees {
		if row, ok := rows[t.Tag]; ok && d.err == nil {
			d.plan(t.ID, row, labels)
		}
	}
}

// rows are the trees of the list by tag.
func (d *demoOf) rows(list []byte) map[string]treelist.Row {
	rows := map[string]treelist.Row{}
	for row, err := range treelist.ReadCSV("trees.csv", bytes.NewReader(list), treelist.Options{}) {
		if err == nil {
			rows[row.Tree.Tag] = row
		}
	}
	return rows
}

// labels are the entries of the label versions by name.
func (d *demoOf) labels() map[string]string {
	found := map[string]string{}
	d.look(func(r store.Reader) error {
		rows, err := r.List(entries.OfLabel, "", "", "", 100)
		for _, row := range rows {
			state, err := views.Read(row)
			if err != nil {
				return err
			}
			if l, ok := state.(*views.Label); ok {
				found[l.Facts.Name] = l.ID
			}
		}
		return err
	})
	return found
}

func (d *demoOf) look(with func(store.Reader) error) {
	if d.err == nil {
		d.err = d.ledger.Read(d.ctx, with)
	}
}

func (d *demoOf) plan(tree journal.ID, row treelist.Row, labels map[string]string) {
	in := obj{"tree": tree, "day": d.today, "certified": "yes", "earlier": row.Facts.Earlier,
		"canopy_loss": row.Facts.CanopyLoss, "bbch": row.Facts.BBCH}
	if row.Facts.BloomOver != verdict.Unknown {
		in["bloom_over"] = row.Facts.BloomOver
	}
	if row.Facts.Drought != verdict.Unknown {
		in["drought"] = row.Facts.Drought
	}
	if row.Label != "" {
		in["label"] = labels[row.Label]
	}
	var made struct {
		ID   journal.ID `json:"id"`
		Plan struct {
			Opinion struct{ Overall string }
			Stems   []struct {
				Dose struct {
					Fills []struct {
						Size  quantity.Volume
						Units int
					}
				}
			}
		} `json:"plan"`
	}
	err := d.try("tree.plan", in, &made)
	if is[*actions.Refusal](err) {
		return // some trees of the list are there to be left alone
	}
	if err != nil {
		d.err = err
		return
	}
	if made.Plan.Opinion.Overall == "stop" || len(made.Plan.Stems) != 1 || len(made.Plan.Stems[0].Dose.Fills) != 1 {
		return
	}
	fill := made.Plan.Stems[0].Dose.Fills[0]
	d.plans = append(d.plans, demoJob{tree, made.ID, row.Label, fill.Units, fill.Size})
}

// lot takes units out of the first lot that has them.
func (d *demoOf) lot(p demoJob) journal.ID {
	lots := d.lots[p.label]
	for i := range lots {
		if lots[i].size == p.size && lots[i].left >= p.units {
			lots[i].left -= p.units
			return lots[i].id
		}
	}
	if d.err == nil {
		d.err = fmt.Errorf("demo: no lot of %s has %d units of %d nL", p.label, p.units, p.size)
	}
	return journal.ID{}
}

// open begins a visit to the first n trees that are still to be done.
func (d *demoOf) open(n int) (visit journal.ID, plans []demoJob) {
	if n > len(d.plans) {
		n = len(d.plans)
	}
	plans, d.plans = d.plans[:n], d.plans[n:]
	var jobs []obj
	for _, p := range plans {
		jobs = append(jobs, obj{"tree": p.tree, "plan": p.plan})
	}
	visit = d.do("visit.open", obj{"grounds": d.grounds, "day": quantity.DateOf(d.at.In(d.zone)), "crew": []journal.ID{d.trainee}, "jobs": jobs,
		"weather": obj{"air": "22 °C", "humidity": 55, "wind_mm_s": 1500, "rain": "no"},
		"checks":  []string{"ppe", "wires", "bees", "label-on-site", "eyewash"}})
	return visit, plans
}

// install bores and fills a tree, and presses every unit.
func (d *demoOf) install(visit journal.ID, p demoJob) (units []journal.ID, lot journal.ID) {
	var made struct {
		Units []journal.ID `json:"units"`
	}
	lot = d.lot(p)
	d.deed("tree.install", obj{"visit": visit, "tree": p.tree, "lot": lot}, &made)
	d.after(4 * time.Minute)
	d.deed("unit.pressurise", obj{"visit": visit, "units": made.Units, "gauge": "10 psi"}, &struct{}{})
	return made.Units, lot
}

// morning is a visit from beginning to end: two trees, one unit stuck.
func (d *demoOf) morning() {
	visit, plans := d.open(2)
	counts := map[journal.ID]obj{}
	lifted := 0
	for i, p := range plans {
		d.after(6 * time.Minute)
		units, lot := d.install(visit, p)
		if d.err != nil {
			return
		}
		d.after(35 * time.Minute)
		empty := units
		if i == 0 {
			d.deed("unit.stick", obj{"visit": visit, "unit": units[0], "left": "1 mL", "why": "sap in the hole"}, &struct{}{})
			d.deed("unit.lift", obj{"visit": visit, "unit": units[0], "left": "1 mL"}, &struct{}{})
			empty = units[1:]
		}
		d.deed("unit.drain", obj{"visit": visit, "units": empty}, &struct{}{})
		d.after(3 * time.Minute)
		d.deed("unit.lift", obj{"visit": visit, "units": empty}, &struct{}{})
		lifted += len(units)
		if counts[lot] == nil {
			counts[lot] = obj{"lot": lot, "taken": 0, "seated": 0, "lifted": 0, "lost": 0, "unused": 0}
		}
		for _, figure := range []string{"taken", "seated", "lifted"} {
			counts[lot][figure] = counts[lot][figure].(int) + len(units)
		}
	}
	var lots []obj
	for _, c := range counts {
		lots = append(lots, c)
	}
	d.after(5 * time.Minute)
	d.deed("visit.tally", obj{"visit": visit, "lots": lots}, &struct{}{})
	d.deed("visit.close", obj{"visit": visit, "signature": obj{"name": "Alder Fenn (invented)", "meaning": "I did this work and this record is right"}}, &struct{}{})
	bag := d.do("bag.seal", obj{"visits": []journal.ID{visit}, "mark": "Q-1", "units": lifted})
	d.do("bag.hand", obj{"bag": bag, "to": "Collection point of Quillmere (invented)", "proof": "INVENTED-7"})
	d.paperwork(visit)
}

// paperwork is what the records need beside the work, and a correction.
func (d *demoOf) paperwork(visit journal.ID) {
	on := obj{"kind": "visit", "id": visit}
	posted := d.at.In(d.zone).Truncate(time.Hour)
	for _, fact := range [][2]string{
		{"contract.ref", "INVENTED-K-1"}, {"contract.cost", "USD 464.39"}, {"marker.posted_at", posted.Add(-3 * time.Hour).Format(time.RFC3339)},
		{"marker.width_in", "5"}, {"marker.height_in", "4"}, {"marker.letter_height_in", "0.375"}, {"marker.above_ground_in", "12"}, {"marker.stay_off_hours", "24"},
	} {
		d.do("record.tell", obj{"on": on, "field": fact[0], "text": fact[1]})
	}
	var hole entries.Hole
	var id journal.ID
	d.look(func(r store.Reader) error {
		es, err := r.Entries(entries.Subject{Kind: entries.OfVisit, ID: visit.String()})
		for _, e := range es {
			if read, bad := entries.Read(e); bad == nil && hole.Visit == (journal.ID{}) {
				if h, ok := read.Body.(entries.Hole); ok {
					hole, id = h, e.ID
				}
			}
		}
		return err
	})
	hole.Depth += int64(quantity.Inch / 16)
	d.deed("amend", obj{"of": id, "after": hole, "why": "The stop had slipped by a sixteenth; found when the drill was put away."}, &struct{}{})
}

// now is a visit as a crew would find it: one tree drained, one draining, others
// waiting.
func (d *demoOf) now(end time.Time) {
	d.at = end.Add(-80 * time.Minute)
	visit, plans := d.open(5)
	for i, p := range plans {
		if i == 2 || d.err != nil {
			return
		}
		units, _ := d.install(visit, p)
		if i == 0 && d.err == nil {
			d.after(35 * time.Minute)
			d.deed("unit.drain", obj{"visit": visit, "units": units[:len(units)-2]}, &struct{}{})
		}
	}
}

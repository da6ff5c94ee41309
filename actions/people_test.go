package actions

import (
	"fmt"
	"slices"
	"testing"

	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

func TestTheOrganisationIsUpdated(t *testing.T) {
	f := newFirm(t)
	f.done(f.boss, "org.update", `{"keep_years":5,"phone":"555-0100"}`)
	o := state[*views.Org](f, entries.OfOrg, f.org)
	if o.Facts.KeepYears != 5 || o.Facts.Phone != "555-0100" || o.Facts.Country != "US" || o.Facts.Name != "Example Tree Care (fictional)" {
		t.Errorf("%+v", o.Facts)
	}
	f.refused(f.boss, "org.update", `{"country":"usa"}`, "input.value", "country")
	f.refused(f.boss, "org.update", `{"keep_years":0}`, "input.value", "keep_years")
}

func TestPeople(t *testing.T) {
	f := newFirm(t)
	f.refused(f.boss, "person.add", `{"name":"x","roles":[]}`, "input.value", "roles")
	f.refused(f.boss, "person.add", `{"name":"x","roles":["inspector","office"]}`, "person.inspector_only", "roles")
	f.refused(f.boss, "person.add", `{"name":"x","roles":["trainee"]}`, "person.supervisor_missing", "supervisor")
	f.refused(f.boss, "person.add", fmt.Sprintf(`{"name":"x","roles":["office"],"supervisor":%q}`, f.app), "person.supervisor_extra", "supervisor")
	f.refused(f.boss, "person.add", fmt.Sprintf(`{"name":"x","roles":["trainee"],"supervisor":%q}`, f.look), "person.supervisor_not_applicator", "supervisor")
	f.refused(f.boss, "person.add", fmt.Sprintf(`{"name":"x","roles":["trainee"],"supervisor":%q}`, f.org), "person.unknown", "supervisor")
	f.refused(f.boss, "person.update", fmt.Sprintf(`{"person":%q}`, f.org), "person.unknown", "person")

	// A trainee who has learnt enough needs nobody over them any more.
	f.done(f.boss, "person.update", fmt.Sprintf(`{"person":%q,"roles":["applicator"],"name":"Cyd A. Modelo"}`, f.train))
	p := state[*views.Person](f, entries.OfPerson, f.train)
	if p.Facts.Name != "Cyd A. Modelo" || p.Facts.Supervisor != (journal.ID{}) || !slices.Equal(p.Facts.Roles, []entries.Role{entries.Applicator}) {
		t.Errorf("%+v", p.Facts)
	}
}

// Somebody always keeps the office, for nobody else could give it away again.
func TestTheLastOfTheOffice(t *testing.T) {
	f := newFirm(t)
	f.refused(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, f.boss), "person.last_office", "person")
	f.refused(f.boss, "person.update", fmt.Sprintf(`{"person":%q,"roles":["applicator"]}`, f.boss), "person.last_office", "person")
	second := f.do(f.boss, "person.add", `{"name":"Eli Primer","roles":["office"]}`)
	f.done(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, f.boss))
	f.refused(f.boss, "person.add", `{"name":"x","roles":["office"]}`, "person.left", "")
	f.refused(second, "person.leave", fmt.Sprintf(`{"person":%q}`, f.boss), "person.gone", "person")
	f.refused(second, "person.update", fmt.Sprintf(`{"person":%q,"name":"y"}`, f.boss), "person.gone", "person")
	f.refused(second, "person.leave", fmt.Sprintf(`{"person":%q}`, second), "person.last_office", "person")
	f.done(second, "person.update", fmt.Sprintf(`{"person":%q,"back":true}`, f.boss))
	f.done(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, second))
}

func TestCertificates(t *testing.T) {
	f := newFirm(t)
	give := func(more string) string {
		return fmt.Sprintf(`{"person":%q,"sort":"certificate","authority":"Example Board (fictional)","from":"2025-01-01"%s}`, f.app, more)
	}
	id := f.do(f.boss, "person.certify", give(`,"until":"2027-12-31","number":"A-1","categories":["3A"]`))
	f.do(f.boss, "person.certify", give(fmt.Sprintf(`,"certificate":%q,"until":"2029-12-31","number":"A-1"`, id)))
	held := state[*views.Person](f, entries.OfPerson, f.app).Certificates
	if len(held) != 1 || held[0].Until.String() != "2029-12-31" {
		t.Errorf("held: %+v", held)
	}
	f.refused(f.boss, "person.certify", give(`,"until":"2024-12-31"`), "certificate.ends_before", "until")
	f.refused(f.boss, "person.certify", give(fmt.Sprintf(`,"certificate":%q`, f.org)), "certificate.unknown", "certificate")
	f.refused(f.boss, "person.certify", give(`,"sort":"diploma"`), "input.twice", "sort")
	f.refused(f.boss, "person.certify", give(`,"until":"31.12.2027"`), "input.value", "until")
}

func TestDevices(t *testing.T) {
	f := newFirm(t)
	id := deviceOf(testKey(5))
	enrol := func(more string) string { return fmt.Sprintf(`{"device":%q,"name":"phone"%s}`, id, more) }
	f.refused(f.boss, "device.enrol", enrol(``), "device.owner_missing", "person")
	f.refused(f.boss, "device.enrol", enrol(fmt.Sprintf(`,"person":%q,"office":true`, f.app)), "device.owner_twice", "office")
	f.refused(f.boss, "device.enrol", enrol(fmt.Sprintf(`,"person":%q`, f.org)), "person.unknown", "person")
	f.refused(f.boss, "device.enrol", `{"device":"abc","name":"phone","office":true}`, "input.value", "device")
	f.refused(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":"lost"}`, id), "device.unknown", "device")

	f.do(f.boss, "device.enrol", enrol(fmt.Sprintf(`,"person":%q`, f.app)))
	f.refused(f.boss, "device.enrol", enrol(fmt.Sprintf(`,"person":%q`, f.app)), "device.enrolled_already", "device")
	f.refused(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":""}`, id), "input.value", "why")
	r := f.done(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":"lost"}`, id)).Result.(deviceRevoked)
	if r.Through != 0 {
		t.Errorf("revoked through %d, want 0: it never wrote", r.Through)
	}
	f.refused(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":"lost"}`, id), "device.was_revoked", "device")
	f.refused(f.boss, "device.enrol", enrol(`,"office":true`), "device.was_revoked", "device")
	f.refused(f.boss, "device.revoke", fmt.Sprintf(`{"device":%q,"why":"old"}`, deviceOf(f.office)), "device.itself", "device")

	f.done(f.boss, "person.leave", fmt.Sprintf(`{"person":%q}`, f.look))
	f.refused(f.boss, "device.enrol", fmt.Sprintf(`{"device":%q,"name":"tablet","person":%q}`, deviceOf(testKey(6)), f.look), "person.gone", "person")
}

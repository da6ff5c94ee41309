package records

import (
	"encoding/json"
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sapwell/engine/quantity"
	"sapwell/internal/outside"
)

// changed is the base record under a patch written as JSON.
func changed(t testing.TB, patch string) Record {
	t.Helper()
	var p any
	if err := json.Unmarshal([]byte(patch), &p); err != nil {
		t.Fatalf("%s: %v", patch, err)
	}
	return patched(t, p)
}

// lawCase is a patch on the base record, on which no profile finds anything, and
// what the profiles named must then find; of the others nothing is said.
type lawCase struct {
	name, patch string
	want        map[string][]string
}

func only(profile string, codes ...string) map[string][]string {
	if codes == nil {
		codes = []string{}
	}
	return map[string][]string{profile: codes}
}

// Each rule by itself, the expected codes worked out by hand from the text that the
// profile cites. The work of the base record is on 2026-05-12.
func TestRules(t *testing.T) {
	for _, c := range slices.Concat(federalCases(), stateCases(), europeanCases(), formCases()) {
		got := found(changed(t, c.patch))
		for _, profile := range slices.Sorted(maps.Keys(c.want)) {
			want := slices.Sorted(slices.Values(c.want[profile]))
			if !slices.Equal(got[profile], want) {
				t.Errorf("%s, %s: %v, want %v", c.name, profile, got[profile], want)
			}
		}
	}
	outside.Ran(t, "40 CFR 171.303(b)(7)(vi), 7 CFR 110.3, 3 CCR 6624 and 6627, ECL 33-1205 and 33-1003, (EU) 2023/564 and 2025/2203, article 67 of (EC) 1107/2009; worked out by hand",
		"rules of the profiles one by one")
}

// federalCases: to 2025-07-10 the nine items of 7 CFR 110.3(a), for small work the
// spot entry, 14 days to write and 30 days to hand a copy over; from 2025-07-11 the
// list of 171.303.
func federalCases() []lawCase {
	const fed = "us-fed-rup"
	legacy := func(more string) string {
		return `{"date":"2025-06-02","recorded_at":"2025-06-10T10:00:00-04:00","as_of":"2025-06-20","client":null,"time":null` + more + `}`
	}
	return []lawCase{
		{"label not known: the stricter reading", `{"label":null,"client":null}`, only(fed, "MISSING:client.address", "MISSING:client.name")},
		{"each item of 171.303", `{"client":null,"site":null,"product":null,"amount":null,"area":null,"applicator":null,"time":null}`, only(fed,
			"MISSING:client.name", "MISSING:client.address", "MISSING:site.location", "MISSING:site.type", "MISSING:product.name", "MISSING:product.reg_no",
			"MISSING:amount.total", "MISSING:area.size", "MISSING:applicator.name", "MISSING:applicator.cert_no", "MISSING:time.start")},
		{"helper named, with training", `{"applied_by":"noncertified","operator":{"name":"B. Invented","qualification_ref":"TR-1"}}`, only(fed)},
		{"by the old rule no client and no time", legacy(""), only(fed)},
		{"the last day of the old rule", `{"date":"2025-07-10","recorded_at":"2025-07-10T10:00:00-04:00","as_of":"2025-07-11","client":null}`, only(fed)},
		{"the first day of the new one", `{"date":"2025-07-11","recorded_at":"2025-07-11T10:00:00-04:00","as_of":"2025-07-11","client":null}`, only(fed, "MISSING:client.address", "MISSING:client.name")},
		{"the nine items", legacy(`,"site":null,"product":null,"amount":null,"area":null,"applicator":null`), only(fed,
			"MISSING:site.location", "MISSING:site.type", "MISSING:product.name", "MISSING:product.reg_no", "MISSING:amount.total", "MISSING:area.size",
			"MISSING:applicator.name", "MISSING:applicator.cert_no")},
		{"spot application", legacy(`,"site":null,"applicator":null,"area":{"footprint_m2":404.6}`), only(fed, "MISSING:site.spot_description")},
		{"a tenth of an acre is no spot", legacy(`,"site":null,"area":{"footprint_m2":404.6856,"size":{"value":1,"unit":"{tree}"}}`), only(fed, "MISSING:site.location", "MISSING:site.type")},
		{"no spot in a nursery", legacy(`,"site":null,"area":{"footprint_m2":10,"size":{"value":1,"unit":"{tree}"}},"ctx":{"greenhouse_or_nursery":true}`), only(fed, "MISSING:site.location", "MISSING:site.type")},
		{"written on day 14", legacy(`,"recorded_at":"2025-06-16T23:59:00-04:00"`), only(fed)},
		{"written on day 15", legacy(`,"recorded_at":"2025-06-17T00:01:00-04:00"`), only(fed, "LATE:us-fed.record_14d")},
		{"no copy, day 30", legacy(`,"as_of":"2025-07-02"`), only(fed)},
		{"no copy, day 31", legacy(`,"as_of":"2025-07-03"`), only(fed, "LATE:us-fed.customer_copy_30d")},
		{"copy on day 31", legacy(`,"customer_copy":{"given_at":"2025-07-03"}`), only(fed, "LATE:us-fed.customer_copy_30d")},
		{"copy in time, looked at later", legacy(`,"as_of":"2026-01-01","customer_copy":{"given_at":"2025-07-02T09:00:00-04:00"}`), only(fed)},
		{"own trees: no copy", legacy(`,"as_of":"2026-01-01","ctx":{"commercial":false}`), only(fed)},
	}
}

func stateCases() []lawCase {
	const ca, ny = "us-ca", "us-ny"
	return []lawCase{
		{"agricultural commodity: seven more", `{"ctx":{"agricultural":true},"applied_by_name":null,"time":{"end":null},"method":null}`, map[string][]string{
			ca: {"MISSING:site.trs", "MISSING:operator_id_no", "MISSING:site_id_no", "MISSING:applied_by_name", "MISSING:area.planted", "MISSING:time.end", "MISSING:method"},
			ny: {"MISSING:method"}}},
		{"no operator of the property", `{"property_operator":null}`, only(ca, "MISSING:property_operator.name")},
		{"report due on the 10th, looked at on it", `{"as_of":"2026-06-10"}`, only(ca)},
		{"looked at on the 11th", `{"as_of":"2026-06-11"}`, only(ca, "LATE:us-ca.monthly_report")},
		{"sent on the 10th", `{"as_of":"2026-07-01","reports":{"ca_monthly":"2026-06-10"}}`, only(ca)},
		{"sent on the 11th", `{"reports":{"ca_monthly":"2026-06-11"}}`, only(ca, "LATE:us-ca.monthly_report")},
		{"work of December", `{"date":"2026-12-31","recorded_at":"2026-12-31T10:00:00-08:00","as_of":"2027-01-11"}`, only(ca, "LATE:us-ca.monthly_report")},

		{"no contract, no marker", `{"contract":null,"marker":null}`, only(ny, "MISSING:contract.ref", "MISSING:marker.posted_at")},
		{"orchard: neither", `{"contract":null,"marker":null,"ctx":{"agricultural":true}}`, only(ny)},
		{"golf course: neither", `{"contract":null,"marker":null,"ctx":{"golf_or_turf_farm":true}}`, only(ny)},
		{"own trees: neither", `{"contract":null,"marker":null,"ctx":{"commercial":false}}`, only(ny)},
		{"agency, far from houses", `{"contract":null,"marker":null,"ctx":{"agency":true}}`, only(ny)},
		{"agency, near houses", `{"contract":null,"marker":null,"ctx":{"agency":true,"within_100_ft":true}}`, only(ny, "MISSING:marker.posted_at")},
		{"marker the other way round", `{"marker":{"width_in":4,"height_in":5}}`, only(ny)},
		{"marker 4 x 4", `{"marker":{"width_in":4}}`, only(ny, "INVALID:marker.size")},
		{"marker 3.9 x 9", `{"marker":{"width_in":3.9,"height_in":9}}`, only(ny, "INVALID:marker.size")},
		{"marker too low, small letters, an hour short", `{"marker":{"above_ground_in":11.9,"letter_height_in":0.374,"stay_off_hours":23}}`,
			only(ny, "INVALID:marker.above_ground_in", "INVALID:marker.letter_height_in", "INVALID:marker.stay_off_hours")},
		{"no address, no dose", `{"site":{"address":null,"zip":null},"amount":{"rate":null}}`, only(ny, "MISSING:site.address", "MISSING:site.zip", "MISSING:amount.rate")},
		{"report due on 1 February", `{"as_of":"2027-02-01"}`, only(ny)},
		{"a day later", `{"as_of":"2027-02-02"}`, only(ny, "LATE:us-ny.annual_report")},
	}
}

func europeanCases() []lawCase {
	const eu, uk = "eu-2023-564", "uk"
	return []lawCase{
		{"all items", `{"type_of_use":null,"product":null,"amount":null,"site":null,"area":null,"crop":null}`, map[string][]string{
			eu: {"MISSING:type_of_use", "MISSING:product.name", "MISSING:product.reg_no", "MISSING:amount.rate", "MISSING:site.geo", "MISSING:area.size", "MISSING:crop.eppo"},
			uk: {"MISSING:product.name", "MISSING:amount.rate", "MISSING:area.size", "MISSING:crop"}}},
		{"crop in words will do", `{"site":{"type":null},"crop":{"eppo":null,"name":"ash"}}`, map[string][]string{uk: {}, eu: {"MISSING:crop.eppo"}}},
		{"site in words will do", `{"crop":null}`, only(uk)},
		{"stage asked and told", `{"label":{"stage_restricted":true},"crop":{"bbch":"69"}}`, only(eu)},
		{"before 2026: article 67", `{"date":"2025-12-31","recorded_at":"2026-01-02T10:00:00+01:00","site":null,"type_of_use":null,"electronic_at":null,"as_of":"2026-06-01"}`, only(eu)},
		{"electronic on day 30", `{"electronic_at":"2026-06-11T23:00:00+02:00"}`, only(eu)},
		{"electronic on day 31", `{"electronic_at":"2026-06-12T00:10:00+02:00"}`, only(eu, "LATE:eu.electronic_format")},
		{"still paper on day 31", `{"electronic_at":null,"as_of":"2026-06-12"}`, only(eu, "LATE:eu.electronic_format")},
		{"longer time: 30 January", `{"electronic_at":null,"as_of":"2027-01-30","ctx":{"ms_long_deadline":true}}`, only(eu)},
		{"longer time ends with 2029", `{"date":"2030-01-02","recorded_at":"2030-01-02T10:00:00+01:00","applicator":{"cert_expiry":"2031-01-01"},"electronic_at":null,"as_of":"2030-02-02","ctx":{"ms_long_deadline":true}}`, only(eu, "LATE:eu.electronic_format")},
		{"deferred to 2027", `{"electronic_at":null,"as_of":"2028-01-01","ctx":{"ms_paper_until_2027":true}}`, only(eu)},
		{"and not beyond", `{"date":"2027-01-01","recorded_at":"2027-01-01T10:00:00+01:00","electronic_at":null,"as_of":"2027-02-01","ctx":{"ms_paper_until_2027":true}}`, only(eu, "LATE:eu.electronic_format")},
	}
}

// formCases: formats are reported by every profile, once, and never as missing too.
func formCases() []lawCase {
	everywhere := func(codes ...string) map[string][]string {
		want := map[string][]string{}
		for _, p := range Profiles() {
			want[p.ID] = codes
		}
		return want
	}
	return []lawCase{
		{"times", `{"time":{"start":"24:00","end":"9:05"}}`, everywhere("INVALID:time.start", "INVALID:time.end")},
		{"last minute", `{"time":{"start":"00:00","end":"23:59"}}`, everywhere()},
		{"ZIP of four", `{"site":{"zip":"1234"}}`, everywhere("INVALID:site.zip")},
		{"ZIP 5+4", `{"site":{"zip":"12345-6789"}}`, everywhere()},
		{"genus code", `{"crop":{"eppo":"1FRXG"}}`, everywhere()},
		{"small letters", `{"crop":{"eppo":"frxpe"}}`, everywhere("INVALID:crop.eppo")},
		{"stage of one digit", `{"crop":{"bbch":"9"}}`, everywhere("INVALID:crop.bbch")},
		{"nothing given", `{"amount":{"total":{"value":0}}}`, everywhere("INVALID:amount.total")},
		{"no unit", `{"amount":{"rate":{"unit":null}},"area":{"size":{"unit":""}}}`, everywhere("INVALID:amount.rate", "INVALID:area.size")},
		{"a text for an amount", `{"amount":{"total":"64 mL"}}`, everywhere("INVALID:amount.total")},
		{"certificate ran out the day before", `{"applicator":{"cert_expiry":"2026-05-11"}}`, everywhere("INVALID:applicator.cert_expired")},
		{"good on the day", `{"applicator":{"cert_expiry":"2026-05-12"}}`, everywhere()},
		{"written before it was done", `{"recorded_at":"2026-05-11T23:59:00-04:00"}`, everywhere("INVALID:date")},
		{"registration number, in the US only", `{"product":{"reg_no":"AT-2026/1"}}`, map[string][]string{
			"us-fed-rup": {"INVALID:product.reg_no"}, "us-ca": {"INVALID:product.reg_no"}, "us-ny": {"INVALID:product.reg_no"}, "uk": {}, "eu-2023-564": {}, "generic": {}}},
		{"with a distributor", `{"product":{"reg_no":"99999-1-123456"}}`, everywhere()},
		{"a day will do for a moment", `{"recorded_at":"2026-05-12","electronic_at":"2026-05-20","marker":{"posted_at":"2026-05-12"}}`, everywhere()},
		{"no day and no moment", `{"recorded_at":"12 May","electronic_at":"2026-05-12T25:00:00Z"}`, everywhere("INVALID:recorded_at", "INVALID:electronic_at")},
		{"31 June", `{"date":"2026-06-31"}`, everywhere("INVALID:date")},
		{"units not all back", `{"units":{"retrieved":15}}`, map[string][]string{"generic": {"INVALID:units.unreconciled"}, "uk": {}}},
		{"empty list and object", `{"product":{"ai":[]},"tree":{"circumference":{"value":null,"unit":null}}}`, only("generic", "MISSING:product.ai", "MISSING:tree.circumference")},
	}
}

// The last day before deletion may be offered, as the cases have it; 29 February
// goes on to 1 March where the year has none.
func TestRetention(t *testing.T) {
	for _, c := range []struct {
		patch string
		want  map[string]string
	}{
		{`{}`, map[string]string{"us-fed-rup": "2028-05-12", "us-ca": "2028-05-12", "us-ny": "2029-05-12", "eu-2023-564": "2029-05-12", "uk": "2029-05-12", "generic": "2029-05-12"}},
		{`{"date":"2028-02-29"}`, map[string]string{"us-fed-rup": "2030-03-01", "us-ca": "2030-03-01", "us-ny": "2031-03-01", "eu-2023-564": "2031-03-01", "uk": "2031-03-01", "generic": "2031-03-01"}},
		{`{"label":{"rup":false},"business":{"keep_years":7}}`, map[string]string{"us-ca": "2028-05-12", "us-ny": "2029-05-12", "eu-2023-564": "2029-05-12", "uk": "2029-05-12", "generic": "2033-05-12"}},
		{`{"date":null}`, map[string]string{}},
	} {
		got := map[string]string{}
		for _, k := range Retention(changed(t, c.patch)) {
			got[k.Profile] = k.Until.String()
		}
		if !maps.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.patch, got, c.want)
		}
	}
	r := changed(t, `{"profiles":["us-fed-rup","us-ca"]}`)
	if got := KeepUntil(r).String(); got != "2028-05-12" {
		t.Errorf("under two profiles: %s", got)
	}
	outside.Ran(t, "table of retention of the record cases; 40 CFR 171.303, ECL 33-1205, others from memory", "last day of keeping, 6 profiles")
}

func TestChoose(t *testing.T) {
	for _, c := range []struct {
		country, region string
		want            []string
	}{
		{"US", "", []string{"us-fed-rup", "generic"}},
		{"US", "NY", []string{"us-fed-rup", "us-ny", "generic"}},
		{"us", "us-ny", []string{"us-fed-rup", "us-ny", "generic"}},
		{"US", " new york ", []string{"us-fed-rup", "us-ny", "generic"}},
		{"US", "CA", []string{"us-fed-rup", "us-ca", "generic"}},
		{"CA", "ON", []string{"generic"}}, // Canada, not California
		{"DE", "NY", []string{"eu-2023-564", "generic"}},
		{"GB", "SCT", []string{"uk", "generic"}},
		{"", "", []string{"generic"}},
		{"Estados Unidos", "N.Y.", []string{"us-fed-rup", "us-ny", "generic"}},
		{"U.S.A.", "california", []string{"us-fed-rup", "us-ca", "generic"}},
		{"UK", "England", []string{"uk", "generic"}},
		{"el", "", []string{"eu-2023-564", "generic"}},
		{"Österreich", "", []string{"eu-2023-564", "generic"}},
	} {
		if got := Choose(c.country, c.region); !slices.Equal(got, c.want) {
			t.Errorf("%q %q: %v, want %v", c.country, c.region, got, c.want)
		}
	}
	if ids, why := base(t).Chosen(); len(ids) != len(Profiles()) || why != "" {
		t.Errorf("a record that says nothing: %v, %q", ids, why)
	}
}

// Asked names exactly what is reported missing when it is taken away, of whatever
// record: the papers and the check tell the same.
func TestAskedIsChecked(t *testing.T) {
	contexts := []string{`{}`, `{"label":{"rup":false,"time_restricted":true,"stage_restricted":true}}`, `{"ctx":{"agricultural":true}}`,
		`{"applied_by":"noncertified"}`, `{"date":"2025-06-01"}`, `{"date":"2025-06-01","area":{"footprint_m2":20}}`, `{"ctx":{"agency":true,"within_100_ft":true}}`}
	rapid.Check(t, func(rt *rapid.T) {
		r := changed(t, rapid.SampledFrom(contexts).Draw(rt, "record"))
		p := rapid.SampledFrom(Profiles()).Draw(rt, "profile").ID
		asked := Asked(p, r)
		if len(asked) == 0 {
			return
		}
		f := rapid.SampledFrom(asked).Draw(rt, "field")
		if f == "date" || f == "crop" { // the one chooses the rules, for the other several will do
			return
		}
		for _, result := range Check(r.With(f, nil)) {
			if result.Profile == p && !slices.ContainsFunc(result.Findings, func(x Finding) bool { return x.Code() == Missing+":"+string(f) }) {
				rt.Fatalf("%s asks %s and does not miss it", p, f)
			}
		}
	})
	if got := Asked("nobody", base(t)); got != nil {
		t.Errorf("an unknown profile asks %v", got)
	}
}

// Duties are one a record, or one a month or year for all its records; what is done
// for some only is not done.
func TestDuties(t *testing.T) {
	may := changed(t, `{"profiles":["us-ca"],"business":{"id":"org-1"}}`)
	also := changed(t, `{"profiles":["us-ca"],"business":{"id":"org-1"},"record":{"id":"other"},"date":"2026-05-31","recorded_at":"2026-05-31T10:00:00-07:00"}`)
	duties := Duties([]Record{may, also})
	i := slices.IndexFunc(duties, func(d Duty) bool { return d.Name == "us-ca.monthly_report" })
	if len(duties) != 3 || i != 0 { // and two days of work to keep
		t.Fatalf("%+v", duties)
	}
	d := duties[0]
	if d.Due != quantity.NewDate(2026, 6, 10) || d.Subject != "2026-05" || d.Records != 2 || !d.Done.IsZero() || d.Late || d.UID != "us-ca.monthly_report.2026-05.org-1@sapwell" {
		t.Errorf("%+v", d)
	}
	if k := duties[1]; k.Name != "keep_until" || k.Due != quantity.NewDate(2028, 5, 12) {
		t.Errorf("%+v", k)
	}
	sent := Duties([]Record{may.With("reports.ca_monthly", "2026-06-09"), also})[0]
	if !sent.Done.IsZero() || sent.Sequence <= d.Sequence {
		t.Errorf("sent for one of two: %+v", sent)
	}
	sent = Duties([]Record{may.With("reports.ca_monthly", "2026-06-09"), also.With("reports.ca_monthly", "2026-06-09")})[0]
	if sent.Done != quantity.NewDate(2026, 6, 9) || sent.Late || sent.UID != d.UID || sent.Sequence <= d.Sequence {
		t.Errorf("sent: %+v", sent)
	}
	if late := Duties([]Record{may.With("as_of", "2026-06-11")})[0]; !late.Late {
		t.Errorf("overdue: %+v", late)
	}
	if got := Duties([]Record{may.With("date", nil)}); len(got) != 0 {
		t.Errorf("without a day of work: %+v", got)
	}
	outside.Ran(t, "3 CCR 6627: by the 10th of the next month", "duties of two records of one month")
}

// What cannot be read as a day is no day on which a report was sent: the record says
// so, and the duty stays open and is late once its day is past (3 CCR 6627: by the
// 10th of the next month).
func TestDoneUnreadable(t *testing.T) {
	r := changed(t, `{"profiles":["us-ca"],"as_of":"2026-06-11","reports":{"ca_monthly":"yes, sent"}}`)
	var codes []string
	for _, f := range Judge(r, "en").Findings {
		codes = append(codes, f.Code)
	}
	if want := []string{"INVALID:reports.ca_monthly", "LATE:us-ca.monthly_report"}; !slices.Equal(codes, want) {
		t.Errorf("%v, want %v", codes, want)
	}
	if d := Duties([]Record{r})[0]; !d.Done.IsZero() || !d.Late {
		t.Errorf("%+v", d)
	}
	eu := changed(t, `{"profiles":["eu-2023-564"],"electronic_at":"later"}`)
	said := 0
	for _, f := range Judge(eu, "en").Findings {
		if f.Code == "INVALID:electronic_at" {
			said++
		}
	}
	if said != 1 {
		t.Errorf("an unreadable electronic_at is told %d times", said)
	}
	outside.Ran(t, "3 CCR 6627: by the 10th of the next month", "a report of which it cannot be read when it was sent")
}

// Where nobody knows the state, nobody knows whether New York's or California's rules
// hold: that is said, and not passed over. A country without a profile is known to be
// one (ISO 3166).
func TestUnplaced(t *testing.T) {
	for _, c := range []struct{ country, region, want string }{
		{"US", "NY", ""}, {"U.S.A.", "Oregon", ""}, {"US", "", "MISSING:site.region"}, {"US", "Nuw York", "INVALID:site.region"},
		{"Atlantis", "", "INVALID:site.country"}, {"JP", "", ""}, {"DE", "", ""}, {"CA", "", ""},
	} {
		r := changed(t, `{"profiles":["generic"]}`).With("site.country", c.country).With("site.region", c.region)
		got := ""
		for _, f := range Lacks(r) {
			got += f.Code
		}
		if got != c.want {
			t.Errorf("%+v: %q", c, got)
		}
		if told := Lacks(r.With("profiles_why", "a test")); len(told) > 0 {
			t.Errorf("%+v: told which hold, and still %+v", c, told)
		}
	}
	outside.Ran(t, "ISO 3166-1, 3166-2:US", "a place that does not tell which profiles hold")
}

package actions

import (
	"cmp"
	"fmt"
	"slices"

	"sapwell/engine/quantity"
	"sapwell/engine/why"
	"sapwell/entries"
	"sapwell/journal"
	"sapwell/views"
)

type visitOpen struct {
	Grounds   journal.ID    `json:"grounds" doc:"where the work is"`
	Day       entries.Date  `json:"day" doc:"the day of the work"`
	Certified journal.ID    `json:"certified,omitzero" doc:"the applicator who does or supervises it; left out: whoever opens the visit"`
	Crew      []journal.ID  `json:"crew,omitempty" doc:"who else works"`
	Jobs      []entries.Job `json:"jobs" doc:"the trees, each with the plan it is worked by"`
	Weather   *weatherSeen  `json:"weather,omitempty" doc:"the air at the place"`
	Checks    []string      `json:"checks,omitempty" doc:"what was looked at before: ppe, wires, bees, label-on-site, eyewash"`
	At        int64         `json:"at,omitempty" doc:"when, if not now; ms since 1970"`
}

type weatherSeen struct {
	Air      *quantity.Temperature `json:"air,omitempty" doc:"temperature"`
	Humidity *int                  `json:"humidity,omitempty" doc:"relative, percent"`
	Wind     *int64                `json:"wind_mm_s,omitempty" doc:"millimetres a second"`
	Rain     string                `json:"rain,omitempty" enum:"yes,no" doc:"it rains"`
}

func (w *weatherSeen) wire() *entries.Weather {
	if w == nil {
		return nil
	}
	return &entries.Weather{Air: millikelvin(w.Air), Humidity: w.Humidity, Wind: w.Wind, Rain: w.Rain}
}

// openVisit begins a day's work. It refuses what cannot be meant: a tree of other
// grounds, a plan of another tree, a plan that says stop. What a person has to
// answer for (a certificate that nobody noted, a plan that is older than what is
// known of the tree) is told and does not stop them.
func openVisit(d *desk, in visitOpen) (Made, error) {
	if _, err := d.grounds(in.Grounds, "grounds"); err != nil {
		return Made{}, err
	}
	in.Certified = cmp.Or(in.Certified, d.By)
	if err := d.checkPeople(in); err != nil {
		return Made{}, err
	}
	d.askDay(in.Day)
	if len(in.Jobs) == 0 {
		return Made{}, refuse(BadInput, "visit.no_tree", "jobs", "jobs: none; want at least one tree with its plan")
	}
	for i, job := range in.Jobs {
		if err := d.checkJob(in, i, job); err != nil {
			return Made{}, err
		}
	}
	if err := d.tellOtherVisits(in.Jobs); err != nil {
		return Made{}, err
	}
	h, err := d.head(in.At)
	if err != nil {
		return Made{}, err
	}
	return d.made(entries.VisitOpened{
		Head: h, Grounds: in.Grounds, Day: in.Day, Certified: in.Certified, Crew: in.Crew,
		Jobs: in.Jobs, Weather: in.Weather.wire(), Checks: in.Checks,
	})
}

// checkPeople looks at who answers for the work and who does it.
func (d *desk) checkPeople(in visitOpen) error {
	p, err := d.person(in.Certified, "certified")
	if err != nil {
		return err
	}
	if p.Facts.Left || !slices.Contains(p.Facts.Roles, entries.Applicator) {
		return refuse(BadInput, "visit.not_applicator", "certified",
			fmt.Sprintf("certified: %s; want an applicator who works here", p.Facts.Name), why.T("name", p.Facts.Name))
	}
	d.askCertificate(p, in.Day)
	for i, id := range in.Crew {
		field := fmt.Sprintf("crew[%d]", i)
		c, err := d.person(id, field)
		if err != nil {
			return err
		}
		if c.Facts.Left {
			return refuse(BadInput, "visit.crew_left", field,
				fmt.Sprintf("%s: %s has left; want somebody who works here", field, c.Facts.Name), why.T("name", c.Facts.Name))
		}
	}
	return nil
}

// askCertificate asks where no certificate of the person holds on the day, or only one
// without a last day. It never refuses: a certificate that was not noted here may still
// be held, and whether it covers the work only a person can tell.
func (d *desk) askCertificate(p *views.Person, day entries.Date) {
	var last entries.Date
	endless := false
	for _, c := range p.Certificates {
		switch {
		case c.Sort != "certificate" || c.Withdrawn || c.From.After(day):
		case c.Until.IsZero():
			endless = true
		case !day.After(c.Until):
			return
		case c.Until.After(last):
			last = c.Until
		}
	}
	terms := []why.Term{why.T("name", p.Facts.Name), why.T("date", day)}
	switch {
	case endless:
		d.tell("visit.certificate_endless", why.Ask, "certified", terms...)
	case last.IsZero():
		d.tell("visit.certificate_missing", why.Ask, "certified", terms...)
	default:
		d.tell("visit.certificate_expired", why.Ask, "certified", append(terms, why.T("expires", last))...)
	}
}

// askDay asks about a day that is not about today: what a lot or a label says
// hangs on it. A day either way is the time zone.
func (d *desk) askDay(day entries.Date) {
	today := d.dayOf(d.Now)
	if days := today.DaysTo(day); days < -1 || days > 1 {
		d.tell("visit.day_far", why.Ask, "day", why.T("date", day), why.T("days", max(days, -days)))
	}
}

// checkJob looks at one tree and its plan.
func (d *desk) checkJob(in visitOpen, i int, job entries.Job) error {
	field := fmt.Sprintf("jobs[%d]", i)
	t, err := d.standing(job.Tree, field+".tree")
	if err != nil {
		return err
	}
	tag := why.T("tag", t.Facts.Tag)
	plan, err := d.planEntry(job.Plan, field+".plan")
	if err != nil {
		return err
	}
	before := slices.ContainsFunc(in.Jobs[:i], func(j entries.Job) bool { return j.Tree == job.Tree })
	switch {
	case t.Facts.Grounds != in.Grounds:
		return refuse(BadInput, "visit.tree_elsewhere", field+".tree", fmt.Sprintf("%s.tree: tree %s stands on other grounds", field, t.Facts.Tag), tag)
	case before:
		return refuse(BadInput, "visit.tree_twice", field+".tree", fmt.Sprintf("%s.tree: tree %s is given twice", field, t.Facts.Tag), tag)
	case plan.Tree != job.Tree:
		return refuse(BadInput, "visit.plan_other_tree", field+".plan",
			fmt.Sprintf("%s.plan: it is the plan of tree %s; want one of tree %s", field, d.tag(plan.Tree), t.Facts.Tag),
			tag, why.T("other", d.tag(plan.Tree)))
	case plan.Overall == "stop":
		return refuse(Conflict, "visit.plan_stop", field+".plan",
			fmt.Sprintf("%s.plan: the plan of tree %s says STOP", field, t.Facts.Tag), tag)
	}
	return d.tellPlan(field+".plan", t, plan, in.Day)
}

// tellPlan says where a plan rests on less than is known today.
func (d *desk) tellPlan(field string, t *views.Tree, plan entries.Plan, day entries.Date) error {
	tag := why.T("tag", t.Facts.Tag)
	if t.Measurement != nil && t.Measurement.Entry != plan.Measurement {
		d.tell("visit.measured_since", why.Warn, field, tag)
	}
	if plan.Overall == "ask" {
		d.tell("visit.plan_asks", why.Ask, field, tag)
	}
	if plan.Day != day {
		d.tell("visit.plan_other_day", why.Warn, field, tag, why.T("planned_for", plan.Day), why.T("date", day))
	}
	l, err := d.label(plan.Label, field)
	if err != nil {
		return err
	}
	newer, err := d.newerLabel(l)
	if err == nil && newer != nil {
		d.tell("visit.label_newer", why.Warn, field, tag, why.T("label", l.Facts.Name),
			why.T("label_version", l.Facts.Version), why.T("newer", newer.Facts.Version))
	}
	return err
}

// newerLabel is a later version of a label, or nil. Versions are listed by day,
// and a NUL after the key of this one is what comes next.
func (d *desk) newerLabel(l *views.Label) (*views.Label, error) {
	rows, err := d.List(entries.OfLabel, l.Key()+"\x00", l.Facts.Name+"|~", "", 1)
	if err != nil || len(rows) == 0 {
		return nil, err
	}
	return stateOf[*views.Label](rows[0])
}

// tellOtherVisits warns where a tree is being worked already: two crews that do
// not know of each other give it twice the dose.
func (d *desk) tellOtherVisits(jobs []entries.Job) error {
	open, err := openVisits(d, openEnd)
	if err != nil {
		return err
	}
	for i, job := range jobs {
		for _, v := range open {
			if _, ok := jobOf(v, job.Tree); ok {
				d.tell("visit.tree_in_other", why.Warn, fmt.Sprintf("jobs[%d].tree", i), why.T("tag", d.tag(job.Tree)), why.T("date", v.Facts.Day))
			}
		}
	}
	return nil
}

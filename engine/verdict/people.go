package verdict

import (
	"slices"
	"strings"

	"sapwell/engine/why"
)

// peopleRules: may this person, and what must they guard against?
func peopleRules() []Rule {
	return []Rule{
		{Code: "people.not_certified", Source: why.CFR171, Check: notCertified},
		{Code: "people.certified_unknown", Source: why.CFR171, Check: certifiedUnknown},
		{Code: "people.state_restricted", Source: why.TheLabel, Check: stateRestricted},
		{Code: "people.professional_only", Source: why.TheLabel, Check: professionalOnly},
		{Code: "people.operator_young", In: []Jurisdiction{US}, Source: why.CFR171, Check: operatorYoung},
		{Code: "people.operator_age_unknown", In: []Jurisdiction{US}, Source: why.CFR171, Check: operatorAgeUnknown},
		{Code: "people.training_old", In: []Jurisdiction{US}, Source: why.CFR171, Check: trainingOld},
		{Code: "people.training_unknown", In: []Jurisdiction{US}, Source: why.CFR171, Check: trainingUnknown},
		{Code: "people.worker_protection", In: []Jurisdiction{US}, Source: why.CFR170, Check: workerProtection},
	}
}

func notCertified(c Case) []why.Finding {
	if source := restricts(c); source != "" && c.Certified == No {
		return from(source, report(why.Block, "certified"))
	}
	return nil
}

// restricts is who says that the product needs a certified person, "" if nobody: for
// a restricted-use product the federal rule in the US, elsewhere the label; and a
// state that restricts it of its own accord.
func restricts(c Case) why.Source {
	k := c.Label.Class
	switch {
	case k.RestrictedUse && c.Jurisdiction == US:
		return why.CFR171
	case k.RestrictedUse, slices.Contains(k.StateRestricted, c.part()):
		return why.TheLabel
	}
	return ""
}

func certifiedUnknown(c Case) []why.Finding {
	if source := restricts(c); source != "" && c.Certified == Unknown {
		return from(source, report(why.Ask, "certified"))
	}
	return nil
}

// stateRestricted asks for the state where some restrict the product and nobody
// certified is known of.
func stateRestricted(c Case) []why.Finding {
	k := c.Label.Class
	if k.RestrictedUse || len(k.StateRestricted) == 0 || c.part() != "" || c.Certified == Yes {
		return nil
	}
	return report(why.Ask, "region", why.T("states", strings.Join(k.StateRestricted, ", ")))
}

// professionalOnly asks where a label for professionals is not restricted-use:
// in the US no certificate answers it, in the EU and the UK one does.
func professionalOnly(c Case) []why.Finding {
	k := c.Label.Class
	switch {
	case !k.ProfessionalOnly || k.RestrictedUse || c.Certified == Yes:
		return nil
	case c.Certified == No && c.Jurisdiction != US:
		return report(why.Block, "certified")
	}
	return report(why.Ask, "certified")
}

// helper is whoever does the work without a certificate under supervision, where the
// federal rule for that holds: with restricted-use products (40 CFR 171.201, read in
// the State of Washington's page on it). Lifting and bagging units is use as well.
func (c Case) helper() (Operator, bool) {
	if c.Operator == nil || !c.Label.Class.RestrictedUse {
		return Operator{}, false
	}
	return *c.Operator, true
}

// operatorYoung: 18, or 16 in the immediate family of a private applicator.
func operatorYoung(c Case) []why.Finding {
	o, ok := c.helper()
	if !ok || o.Age == nil || *o.Age >= 18 || *o.Age >= 16 && o.Family == Yes {
		return nil
	}
	return report(why.Block, "operator.age", why.T("age", *o.Age))
}

func operatorAgeUnknown(c Case) []why.Finding {
	if o, ok := c.helper(); ok && o.Age == nil {
		return report(why.Ask, "operator.age")
	}
	return nil
}

// trainingOld: trained within the last 12 months; a training on the same day of last
// year still counts. One after the work does not.
func trainingOld(c Case) []why.Finding {
	o, ok := c.helper()
	if !ok || o.Trained.IsZero() || c.Date.IsZero() {
		return nil
	}
	if !o.Trained.After(c.Date) && !c.Date.After(o.Trained.AddDate(1, 0, 0)) {
		return nil
	}
	return report(why.Block, "operator.trained", why.T("trained", o.Trained), why.T("date", c.Date))
}

func trainingUnknown(c Case) []why.Finding {
	if o, ok := c.helper(); ok && o.Trained.IsZero() {
		return report(why.Ask, "operator.trained")
	}
	return nil
}

// workerProtection reminds of the handlers' rules on an agricultural establishment:
// direct injection is an exception for workers who enter (40 CFR 170.103(e)), and not
// among those for handlers (170.203). Parks, lawns and grounds for looks are outside
// both. Of a place that is not known nothing is said: never that it does not apply.
func workerProtection(c Case) []why.Finding {
	if !slices.Contains([]string{"orchard", "nursery", "forest"}, c.Context) {
		return nil
	}
	return report(why.Warn, "context", why.T("site_kind", c.Context))
}

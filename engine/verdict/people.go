package verdict

import "sapwell/engine/why"

// peopleRules: may this person, and what must they guard against?
func peopleRules() []Rule {
	return []Rule{
		{Code: "people.not_certified", Source: why.CFR171, Check: notCertified},
		{Code: "people.certified_unknown", Source: why.CFR171, Check: certifiedUnknown},
		{Code: "people.professional_only", Source: why.TheLabel, Check: professionalOnly},
	}
}

func notCertified(c Case) []why.Finding {
	if c.Label.Class.RestrictedUse && c.Certified == No {
		return from(restricts(c), report(why.Block, "certified"))
	}
	return nil
}

// restricts is who says that a restricted-use product needs a certified person:
// the federal rule in the US, elsewhere nobody but the label.
func restricts(c Case) why.Source {
	if c.Jurisdiction == US {
		return why.CFR171
	}
	return why.TheLabel
}

func certifiedUnknown(c Case) []why.Finding {
	if c.Label.Class.RestrictedUse && c.Certified == Unknown {
		return from(restricts(c), report(why.Ask, "certified"))
	}
	return nil
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

package verdict

import "sapwell/engine/why"

// pestRules: is what is treated on the label? In the US an unlisted pest on a
// listed site is open unless the label limits use to its pests (FIFRA 2(ee), read
// through WAC 16-228-1225); elsewhere a use is a crop and a pest together.
func pestRules() []Rule {
	return []Rule{
		{Code: "pest.not_given", Source: why.TheLabel, Check: pestNotGiven},
		{Code: "pest.not_listed", In: []Jurisdiction{US}, Source: why.FIFRA2ee, Check: pestInUS},
		{Code: "pest.written_advice", In: []Jurisdiction{US}, Source: why.Memory, Check: writtenAdvice},
		{Code: "pest.not_listed", In: []Jurisdiction{EU, UK, ""}, Source: why.EU1107, Check: pestElsewhere},
	}
}

func pestNotGiven(c Case) []why.Finding {
	if c.Pest == "" {
		return report(why.Ask, "pest")
	}
	return nil
}

func pestInUS(c Case) []why.Finding {
	s := why.Warn
	if c.Label.PestsOnly {
		s = why.Block
	}
	return unlisted(c, s)
}

// writtenAdvice: New York takes 2(ee) more narrowly and wants a written
// recommendation for the pest (from memory). Another such state is another code.
func writtenAdvice(c Case) []why.Finding {
	if c.Label.PestsOnly || c.state() != "NY" {
		return nil
	}
	return unlisted(c, why.Ask)
}

func pestElsewhere(c Case) []why.Finding { return unlisted(c, why.Block) }

func unlisted(c Case, s why.Severity) []why.Finding {
	if c.Pest == "" || c.Label.TargetsPest(c.Pest) {
		return nil
	}
	return report(s, "pest", why.T("pest", c.Pest))
}

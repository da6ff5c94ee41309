package verdict

import "sapwell/engine/why"

// demandRules: what else does the label demand? What no rule here can judge is asked,
// line by line, and never passed over.
func demandRules() []Rule {
	return []Rule{
		{Code: "demand.not_kept", Source: why.TheLabel, Check: demandNotKept},
		{Code: "demand.unasked", Source: why.TheLabel, Check: demandUnasked},
	}
}

func demandNotKept(c Case) []why.Finding {
	if c.Also != No || len(c.Label.Also) == 0 {
		return nil
	}
	return report(why.Block, "also")
}

func demandUnasked(c Case) (all []why.Finding) {
	if c.Also != Unknown {
		return nil
	}
	for _, line := range c.Label.Also {
		all = append(all, report(why.Ask, "also", why.T("demand", line))...)
	}
	return all
}

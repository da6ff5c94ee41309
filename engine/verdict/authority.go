package verdict

import (
	"slices"
	"strings"

	"sapwell/engine/why"
)

// authorityRules: may this product be used at all, here and on this day?
func authorityRules() []Rule {
	return []Rule{
		{Code: "authority.expired", Source: why.TheLabel, Check: expired},
		{Code: "authority.use_up", Source: why.TheLabel, Check: useUp},
		{Code: "authority.other_state", Source: why.TheLabel, Check: otherState},
		{Code: "authority.state_unknown", Source: why.TheLabel, Check: stateUnknown},
	}
}

// expired: the authorisation is over, and so is the time to use up what is left. A
// day that is not known is asked for by another rule.
func expired(c Case) []why.Finding {
	p := c.Label.Product
	last := p.AuthorisedUntil
	if p.UseUpUntil.After(last) {
		last = p.UseUpUntil
	}
	if last.IsZero() || c.Date.IsZero() || !c.Date.After(last) {
		return nil
	}
	return report(why.Block, "product.authorised_until", why.T("expires", last), why.T("date", c.Date))
}

func useUp(c Case) []why.Finding {
	p := c.Label.Product
	if p.AuthorisedUntil.IsZero() || c.Date.IsZero() || !c.Date.After(p.AuthorisedUntil) || c.Date.After(p.UseUpUntil) {
		return nil
	}
	return report(why.Warn, "product.use_up_until", why.T("expires", p.UseUpUntil), why.T("date", c.Date))
}

// otherState: a product that is authorised in some states only, in the US by a
// special local need (24(c)), is authorised nowhere else.
func otherState(c Case) []why.Finding {
	only := c.Label.Product.States
	if len(only) == 0 || c.part() == "" || slices.Contains(only, c.part()) {
		return nil
	}
	return report(why.Block, "region", why.T("state", c.part()), why.T("states", strings.Join(only, ", ")))
}

func stateUnknown(c Case) []why.Finding {
	only := c.Label.Product.States
	if len(only) == 0 || c.part() != "" {
		return nil
	}
	return report(why.Ask, "region", why.T("states", strings.Join(only, ", ")))
}

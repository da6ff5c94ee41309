package verdict

import (
	"slices"

	"sapwell/engine/why"
)

// answerRules pass on what the other answers found, so that a tree has one
// opinion: marks that do not fit stop it as surely as a host not on the label.
// What they ask stays open, since it is answered with a probe or a tape at the
// tree and not before.
func answerRules() []Rule {
	return []Rule{
		{Code: "plan.*", Source: why.Own, Check: func(c Case) []why.Finding { return found(c, false) }},
		{Code: "plan.ask.*", Source: why.Own, Open: true, Check: func(c Case) []why.Finding { return found(c, true) }},
	}
}

func found(c Case, questions bool) []why.Finding {
	return slices.DeleteFunc(slices.Clone(c.Found), func(f why.Finding) bool { return (f.Severity == why.Ask) != questions })
}

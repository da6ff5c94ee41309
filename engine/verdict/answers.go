package verdict

import (
	"sapwell/engine/why"
)

// answerRules pass on what the other answers found, so that a tree has one
// opinion: marks that do not fit stop it as surely as a host not on the label.
func answerRules() []Rule {
	return []Rule{{Code: "plan.*", Source: why.Own, Check: func(c Case) []why.Finding { return c.Found }}}
}

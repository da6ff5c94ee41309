//go:build desk

package words

import "embed"

// An office's screen says what a phone says, and what is wrong with a list of trees.

//go:embed */actions.json */bole.json */bore.json */common.json */dose.json */drain.json */fields.json */host.json */label.json */marks.json */plan.json */pocket.json */records.json */stock.json */terms.json */trees.json */verdict.json */views.json */visits.json
var files embed.FS

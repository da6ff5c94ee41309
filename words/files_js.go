//go:build !desk

package words

import "embed"

// A phone never prints a document or reads a whole list, and says nothing for a server, a
// door or a command line; what stands on its screens these have themselves. It need not
// load these.

//go:embed */actions.json */bole.json */bore.json */common.json */dose.json */drain.json */fields.json */host.json */label.json */marks.json */plan.json */pocket.json */records.json */stock.json */terms.json */verdict.json */views.json */visits.json
var files embed.FS

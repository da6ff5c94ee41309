package treelist

import _ "embed"

//go:embed trees.schema.json
var schema []byte

// Schema returns the JSON Schema (draft 2020-12) of what ReadJSON reads. It
// tells the shape; what a cell may say is told by the faults.
func Schema() []byte { return append([]byte(nil), schema...) }

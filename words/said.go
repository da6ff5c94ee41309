package words

import "sapwell/engine/why"

// Finding is what a person should know, said. Server and phone print it alike.
type Finding struct {
	Code     string `json:"code"`
	Severity string `json:"severity" doc:"block, warn, ask or note"`
	Place    string `json:"place,omitempty"`
	Sentence string `json:"sentence"`
	Remedy   string `json:"remedy,omitempty"`
	Source   string `json:"source" doc:"who says so"`
}

// Findings says what was found; none is an empty list.
func (p *Printer) Findings(found []why.Finding) []Finding {
	said := make([]Finding, 0, len(found))
	for _, f := range found {
		sentence, remedy := p.Finding(f)
		said = append(said, Finding{f.Code, string(f.Severity), f.Place, sentence, remedy, p.Source(f.Source)})
	}
	return said
}

// Refusal says why something was not done, and at which field: in the words of the
// catalogue, or as plain has it where the catalogue has none.
func (p *Printer) Refusal(code, field, plain string, terms ...why.Term) string {
	if !p.has("refusal." + code) {
		return plain
	}
	return p.Say("refusal."+code, append([]why.Term{why.T("field", field)}, terms...)...)
}

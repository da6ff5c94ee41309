package calc

import (
	"sapwell/records"
)

// recordIn is one record of work, as doc/record-fields.md names its facts.
type recordIn struct{ records.Record }

func (in *recordIn) UnmarshalJSON(raw []byte) (err error) {
	in.Record, err = records.Parse(raw)
	return err
}

// notApplicable stands for a profile that asks nothing of a record.
const notApplicable = "NOT_APPLICABLE"

// checkRecord answers by profile: a list of codes, or NOT_APPLICABLE.
func checkRecord(in recordIn) (map[string]any, error) {
	answer := map[string]any{}
	for _, r := range records.Check(in.Record) {
		codes := []string{}
		for _, f := range r.Findings {
			codes = append(codes, f.Code())
		}
		answer[r.Profile] = codes
		if !r.Applies {
			answer[r.Profile] = notApplicable
		}
	}
	return answer, nil
}

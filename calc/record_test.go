package calc

import (
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"testing"

	"sapwell/internal/outside"
)

// The base record of the cases and two patches of it, merged by hand: one answers
// an object by profile, a list answers a list of them.
func TestRecordCases(t *testing.T) {
	raw, err := os.ReadFile("../records/testdata/cases/base.json")
	if err != nil {
		t.Fatal(err)
	}
	var whole map[string]any
	if err := json.Unmarshal(raw, &whole); err != nil {
		t.Fatal(err)
	}
	profiles := []string{"eu-2023-564", "generic", "uk", "us-ca", "us-fed-rup", "us-ny"}
	var alone map[string]any
	answer(t, "record", string(raw), &alone)
	for _, p := range profiles {
		if got, ok := alone[p].([]any); !ok || len(got) != 0 {
			t.Errorf("R01 %s: %v, want an empty list", p, alone[p])
		}
	}
	if len(alone) != len(profiles) {
		t.Errorf("%d profiles", len(alone))
	}
	whole["label"] = map[string]any{"rup": false}
	delete(whole["client"].(map[string]any), "address")
	delete(whole["applicator"].(map[string]any), "cert_no")
	delete(whole["time"].(map[string]any), "start")
	var both []map[string]any
	answer(t, "record", "["+string(raw)+","+mustJSON(t, whole)+"]", &both)
	if len(both) != 2 || !reflect.DeepEqual(both[0], alone) {
		t.Fatalf("in a list: %v; alone %v", both, alone)
	}
	if got := both[1]["us-fed-rup"]; got != "NOT_APPLICABLE" {
		t.Errorf("R03 us-fed-rup: %v", got)
	}
	var codes []string
	for _, c := range both[1]["generic"].([]any) {
		codes = append(codes, c.(string))
	}
	slices.Sort(codes)
	if want := []string{"MISSING:applicator.cert_no", "MISSING:client.address", "MISSING:time.start"}; !slices.Equal(codes, want) {
		t.Errorf("R03 generic: %v, want %v", codes, want)
	}
	outside.Ran(t, "records/testdata/cases: sets worked out by hand from the texts of the rules", "calc record, alone and in a list")
}

package treelist

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"sapwell/engine/quantity"
	"sapwell/engine/stock"
)

const lotBase = "lot,label,size,units,expires,coldest,warmest\n"

func TestReadLots(t *testing.T) {
	c := func(v float64) *quantity.Temperature { k := quantity.Celsius(v); return &k }
	lots, errs := ReadLots("lots.csv", strings.NewReader("Lot No;Label;Size (mL);Count;Expiry;Coldest °C;Warmest [F]\n"+
		"A-1;demo-a;4;36;2026-06-08;9,5;80,6\nA-2;demo-a;5 mL;0;2027-02;-3 °C;\n"))
	if len(errs) > 0 {
		t.Fatal(errs)
	}
	want := []stock.Lot{
		{ID: "A-1", Label: "demo-a", Size: 4 * quantity.Millilitre, Units: 36, Expires: date(2026, 6, 8), Coldest: c(9.5), Warmest: c(27)}, // 80.6 °F = 27 °C
		{ID: "A-2", Label: "demo-a", Size: 5 * quantity.Millilitre, Expires: date(2027, 2, 28), Coldest: c(-3)},
	}
	if diff := cmp.Diff(want, lots, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
		t.Error(diff)
	}
}

func TestLotFaults(t *testing.T) {
	for row, want := range map[string][]string{
		",demo-a,4 mL,36,2026-06-08,9 °C,27 °C":      {"lot missing"},
		"L,,4 mL,36,2026-06-08,,":                    {"label missing"},
		"L,demo-a,,,,,":                              {"size missing", "units missing", "expires missing"},
		"L,demo-a,4,36,2026-06-08,,":                 {"size volume"},
		"L,demo-a,0 mL,36,2026-06-08,,":              {"size volume"},
		"L,demo-a,4 in,36,2026-06-08,,":              {"size volume"},
		"L,demo-a,4 mL,-1,2026-06-08,,":              {"units count"},
		"L,demo-a,4 mL,3.5,2026-06-08,,":             {"units count"},
		"L,demo-a,4 mL,36,2026,,":                    {"expires expiry"},
		"L,demo-a,4 mL,36,6/8/2026,,":                {"expires expiry"},
		"L,demo-a,4 mL,36,2026-06-08,9,":             {"coldest temperature"},
		"L,demo-a,4 mL,36,2026-06-08,-300 °C,999 °C": {"coldest temperature", "warmest temperature"},
		"L,demo-a,4 mL,36,2026-06-08,9 °C,8 °C":      {"warmest cold_warm"},
		"L,demo-a,4 mL":                              {" fields"},
		"OK,demo-a,4 mL,36,2026-06-08,,":             {"lot lot_again"},
	} {
		lots, errs := ReadLots("lots.csv", strings.NewReader(lotBase+"OK,demo-a,4 mL,12,2027-01-31,,\n"+row+"\nOK,demo-b,4 mL,12,2027-01-31,,\n"))
		var got []string
		for _, err := range errs {
			f := err.(*Fault)
			if got = append(got, f.Column+" "+f.Code); f.Line != 3 {
				t.Errorf("%s: line %d", row, f.Line)
			}
		}
		if !slices.Equal(got, want) || len(lots) != 2 {
			t.Errorf("%s: %q and %d lots, want %q and 2", row, got, len(lots), want)
		}
	}
}

func TestLotsWithoutEnd(t *testing.T) {
	var b strings.Builder
	b.WriteString(lotBase)
	for i := range maxLots + 5 {
		fmt.Fprintf(&b, "L%d,demo-a,4 mL,36,2026-06-08,,\n", i)
	}
	lots, errs := ReadLots("lots.csv", strings.NewReader(b.String()))
	if len(lots) != maxLots || len(errs) != 1 || errs[0].(*Fault).Code != "lots_many" {
		t.Error(len(lots), errs)
	}
	if lots, errs := ReadLots("lots.csv", strings.NewReader("lot,label\nL,demo-a\n")); lots != nil || len(errs) != 3 {
		t.Error(lots, errs)
	}
}

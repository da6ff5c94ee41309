package files

import (
	"fmt"
	"io"
	"iter"
	"math/big"
	"strconv"
	"strings"

	"sapwell/engine/quantity"
	"sapwell/records"
)

// CaliforniaMonth is what a monthly summary of pesticide use says (3 CCR 6627):
// one firm, one county, one month. The sums come in; no use at all is reported
// too, with no line.
type CaliforniaMonth struct {
	Year, Month            int
	County, CountyNo       string
	Firm, Address, Zip     string
	Phone, Licence         string
	OperatorID, PreparedBy string
	Uses                   []CaliforniaUse
}

// CaliforniaUse is one product on one kind of site.
type CaliforniaUse struct {
	Product, Maker, RegNo string
	Used                  quantity.Volume
	Applications          int
	SiteCode, Site        string
	Treated               string // in acres or units, as a number
	TreatedUnit           string
}

// WriteCSV writes the month as a table: one line a use, the firm's particulars
// on each. A month without use is one line with 0 applications. It is not the
// agency's form, and doc/files.md says what is in doubt.
func (m CaliforniaMonth) WriteCSV(w io.Writer) error {
	if m.Year < 1 || m.Month < 1 || m.Month > 12 {
		return fmt.Errorf("month %d of year %d: want a month of 1 to 12", m.Month, m.Year)
	}
	table := NewCSV(w, "year", "month", "county", "county_no", "firm", "firm_address", "firm_zip", "firm_phone", "licence", "operator_id",
		"product", "manufacturer", "registration_no", "amount_ml", "amount_fl_oz", "applications", "site_code", "site", "treated", "treated_unit", "prepared_by")
	uses := m.Uses
	if len(uses) == 0 {
		uses = []CaliforniaUse{{}}
	}
	for i, u := range uses {
		if u.Used < 0 || u.Applications < 0 {
			return fmt.Errorf("uses[%d] (%.40q): %d nL in %d applications: want 0 or more", i, u.Product, u.Used, u.Applications)
		}
		table.Row(strconv.Itoa(m.Year), fmt.Sprintf("%02d", m.Month), Guard(m.County), Guard(m.CountyNo), Guard(m.Firm), Guard(m.Address), Guard(m.Zip),
			Guard(m.Phone), Guard(m.Licence), Guard(m.OperatorID), Guard(u.Product), Guard(u.Maker), Guard(u.RegNo), in(u.Used, int64(quantity.Millilitre), 1), in(u.Used, 3_785_411_784, 128),
			strconv.Itoa(u.Applications), Guard(u.SiteCode), Guard(u.Site), Guard(u.Treated), Guard(u.TreatedUnit), Guard(m.PreparedBy))
	}
	return table.Close()
}

// in is a volume in a unit of num/den nanolitres, to a ten-thousandth, without
// empty decimals. A US fluid ounce is 1/128 gallon of 231 in³ (NIST Handbook 44,
// appendix C).
func in(v quantity.Volume, num, den int64) string {
	r := big.NewRat(int64(v), num)
	text := r.Mul(r, big.NewRat(den, 1)).FloatString(4)
	return strings.TrimRight(strings.TrimRight(text, "0"), ".")
}

// NewYorkApplications writes the annual report's list of applications (ECL
// 33-1205): one line a record, the fields of the agency's record layout in its
// order, and behind them those it keeps for the firm's own use. Only what the
// record says stands there; nothing is added up. End date is left empty: a
// treatment is of one day.
func NewYorkApplications(w io.Writer, all iter.Seq2[records.Record, error]) error {
	table := NewCSV(w, "epa_registration_no", "product_name", "quantity", "units_of_measure", "application_date", "end_date", "county_code",
		"address", "municipality", "zip_code", "dosage_rate", "method_of_application", "target_organisms", "place_of_application")
	for r, err := range all {
		if err != nil {
			return err
		}
		text := func(f records.Field) string { return Guard(r.Text(f)) }
		table.Row(text("product.reg_no"), text("product.name"), r.Text("amount.total.value"), text("amount.total.unit"), text("date"), "", text("site.county"),
			text("site.address"), text("site.municipality"), text("site.zip"), text("amount.rate"), text("method"), text("target.pest"), text("site.location"))
	}
	return table.Close()
}

// NewYorkApplicator is one certified person in the annual report.
type NewYorkApplicator struct {
	CertNo, BusinessRegNo, First, Last string
	Applied                            bool // made any application in the year
}

// NewYorkApplicators writes the annual report's list of persons: those without
// an application report that too.
func NewYorkApplicators(w io.Writer, all []NewYorkApplicator) error {
	table := NewCSV(w, "certification_id", "business_registration_no", "first_name", "last_name", "applications")
	for _, a := range all {
		table.Row(Guard(a.CertNo), Guard(a.BusinessRegNo), Guard(a.First), Guard(a.Last), map[bool]string{true: "Y", false: "N"}[a.Applied])
	}
	return table.Close()
}

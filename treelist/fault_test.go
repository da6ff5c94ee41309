package treelist

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// want is "line column code" of each fault, in order; "-" stands for no column.
func checkFaults(t *testing.T, text string, want ...string) []Row {
	t.Helper()
	rows, faults := gather(t, text)
	var got []string
	for _, f := range faults {
		column := f.Column
		if column == "" {
			column = "-"
		}
		got = append(got, fmt.Sprint(f.Line, " ", column, " ", f.Code))
		if msg := f.Error(); !strings.HasPrefix(msg, fmt.Sprintf("list.csv:%d: ", f.Line)) || strings.Contains(msg, "{") ||
			!strings.Contains(msg, "; accepted: ") || f.Want == "" || strings.ContainsAny(msg, "\n\r\x00\x1b") {
			t.Errorf("message %q", msg)
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q\n got %q\nwant %q", shown(text), got, want)
	}
	return rows
}

// One bad cell in one column, with the fault it must give.
func TestBadCells(t *testing.T) {
	for _, c := range []struct{ column, value, code string }{
		{"girth2", "50 in", "missing"}, // its height
		{"canopy_loss", "70.5", "percent"}, {"canopy_loss", "101", "percent"}, {"canopy_loss", "-1 %", "percent"}, {"canopy_loss", "60-70", "percent"},
		{"bbch", "100", "stage"}, {"bbch", "-1", "stage"}, {"growth_stage", "in leaf", "stage"}, {"bbch", "15 %", "stage"},
		{"bloom_over", "soon", "answer"}, {"eaten", "maybe", "answer"}, {"tapped", "2", "answer"}, {"crop", "apple", "answer"},
		{"drought", "dry", "answer"}, {"live_wires", "low", "answer"},
		{"ground", "north", "ground"}, {"direction", "left", "direction"}, {"jurisdiction", "Mars", "jurisdiction"},
		{"date", "6/9/2026", "day"}, {"date", "2026-06", "day"}, {"date", "2026-02-30", "day"}, {"date", "09.06.2026", "day"},
		{"last_treated", "2024", "day"}, {"last_treated", "10/6/2024", "day"}, {"last_treated", "2026-06-10", "future"},
		{"last_treated", "2024-06-10; a; b; c; 4 mL", "treatment"}, {"last_treated", "2024-06-10; a; b; c", "treatment"},
		{"note", strings.Repeat("x", 2001), "long_text"}, {"zero", strings.Repeat("n", 65), "long_text"}, {"stem", strings.Repeat("s", 17), "long_text"},
		{"fissures", "9", "unit"}, {"fissures", "3 in; 97 in", "position_outside"}, {"fissures", "3 in; -1 in", "position_outside"},
		{"fissures", "3 in and 9 in", "fissure"}, {"fissures", "three in", "fissure"}, {"fissures", "3 in; 3 cm; 4", "unit"}, {"fissures", "9,5 in", "decimal_comma"},
		{"fissures_cm", "3 in", "unit_conflict"}, {"fissures", "3 kg", "fissure"}, {"fissures", "1/0 in", "length"},
		{"bark", "12 in: 20 in", "thickness"}, {"bark", "0 in", "thickness"}, {"bark", "12 in: ", "length"}, {"bark", "thick", "length"},
		{"bark", "99 in: 1/2 in", "position_outside"}, {"bark", "0.5 in thick", "length"}, {"bark", "0.5", "unit"},
		{"defects", "12 in canker", "arc"}, {"defects", "canker", "arc"}, {"defects", "12-12 in canker", "arc_ends"}, {"defects", "9-1/2 in", "dash"},
		{"defects", "12-160 in canker", "position_outside"}, {"defects", "12-16 in mushroom", "kind"}, {"defects", "12-", "arc"},
		{"wounds", "22 in yesterday", "wound"}, {"wounds", "22 in 2024-05-10 2023", "wound"}, {"wounds", "22 in 2026-06-10", "future"}, {"wounds", "22 in 2027", "future"},
		{"wounds", "22 in 2026-07", "future"}, {"wounds", "22 in w", "length"}, {"wounds", "22 in w 0 in", "wound_size"}, {"wounds", "22 in w 99 in", "wound_size"},
		{"wounds", "22 in h 11 ft", "wound_size"}, {"wounds", "2024-05-10", "unit"}, {"wounds", "96 1/2 in", "position_outside"}, {"wounds", "22 in 1850", "wound"},
	} {
		t.Run(c.column+" "+shown(c.value), func(t *testing.T) {
			column := c.column
			if c.code == "missing" {
				column = "girth2_height"
			}
			checkFaults(t, with(c.column, c.value), "2 "+column+" "+c.code)
		})
	}
}

// The same for the columns that every list has.
func TestBadNeededCells(t *testing.T) {
	for _, c := range []struct{ row, column, code string }{
		{",green ash,96 in,12 in", "tag", "missing"}, {"T,,96 in,12 in", "species", "missing"},
		{"T,green ash,,12 in", "girth", "missing"}, {"T,green ash,96 in,", "girth_height", "missing"},
		{"T,green ash,0 in,12 in", "girth", "girth_range"}, {"T,green ash,-3 in,12 in", "girth", "girth_range"},
		{"T,green ash,9000 in,12 in", "girth", "girth_range"}, {"T,green ash,1/2 in,12 in", "girth", "girth_range"},
		{"T,green ash,96,12 in", "girth", "unit"}, {"T,green ash,96 kg,12 in", "girth", "length"}, {"T,green ash,96 in,12", "girth_height", "unit"},
		{"T,green ash,thick,12 in", "girth", "length"}, {"T,green ash,NaN in,12 in", "girth", "length"}, {"T,green ash,1e2 in,12 in", "girth", "length"},
		{"T,green ash,=A1,12 in", "girth", "length"}, {"T,green ash,96 in,0 in", "girth_height", "height_range"}, {"T,green ash,96 in,12 ft", "girth_height", "height_range"},
		{"T,grean ash,96 in,12 in", "species", "species_near"}, {"T,zzzz,96 in,12 in", "species", "species"}, {"T,sycamore,96 in,12 in", "species", "species_near"},
		{strings.Repeat("T", 65) + ",green ash,96 in,12 in", "tag", "long_text"},
		{"T,green ash,\"96,5 in\",12 in", "girth", "decimal_comma"}, {"T,green ash,99999999999999999999999 m,12 in", "girth", "length"},
	} {
		t.Run(c.row, func(t *testing.T) { checkFaults(t, base+"\n"+c.row+"\n", "2 "+c.column+" "+c.code) })
	}
}

// All that is wrong with a row is told at once, and the rows about it are read.
func TestAllFaultsOfARow(t *testing.T) {
	text := base + ",canopy_loss,bloom_over,wounds\nA,green ash,96 in,12 in,,,\nB,nope nope,0 in,,200,perhaps,x; 5 in; y\nC,green ash,96 in,12 in,,,\n"
	rows := checkFaults(t, text, "3 girth girth_range", "3 girth_height missing", "3 wounds length", "3 wounds length",
		"3 species species", "3 canopy_loss percent", "3 bloom_over answer")
	if len(rows) != 2 {
		t.Errorf("%d good rows, want 2", len(rows))
	}
}

func TestTwoBareNumbers(t *testing.T) {
	checkFaults(t, with("defects", "12-16 canker"), "2 defects unit", "2 defects unit")
	checkFaults(t, with("fissures", strings.Repeat("9;", 1000)), slices.Repeat([]string{"2 fissures unit"}, maxCellFaults)...)
}

func TestBothDiameterAndGirth(t *testing.T) {
	checkFaults(t, base+",dbh,dbh_height,girth2,girth2_height\nT,green ash,96 in,12 in,20 in,54 in,63 in,54 in\n", "2 dbh both")
	checkFaults(t, base+",dbh\nT,green ash,96 in,12 in,20 in\n", "2 dbh_height missing")
	checkFaults(t, base+",dbh,dbh_height\nT,green ash,96 in,12 in,700 in,54 in\n", "2 dbh diameter_range")
}

func TestHeadingFaults(t *testing.T) {
	row := "\nT,green ash,96 in,12 in"
	for name, c := range map[string]struct {
		text string
		want []string
		rows int
	}{
		"empty file":       {"", []string{"1 - empty"}, 0},
		"only white space": {" \n\n", []string{"1 - empty"}, 0},
		"heading only":     {base + "\n", nil, 0},
		"no heading":       {"T,green ash,96 in,12 in\n", []string{"1 T unknown_column", "1 green ash unknown_column", "1 96 in unknown_column", "1 12 in unknown_column", "1 tag no_column", "1 girth no_column", "1 girth_height no_column", "1 species no_column"}, 0},
		"missing column":   {"tag,species,girth\nT,green ash,96 in\n", []string{"1 girth_height no_column"}, 0},
		"tree height":      {"tag,species,girth,height" + row, []string{"1 height unknown_column", "1 girth_height no_column"}, 0},
		"unknown column":   {base + ",heigth_m\nT,green ash,96 in,12 in,20\n", []string{"1 heigth_m unknown_column"}, 1},
		"column twice":     {base + ",circumference_cm" + row + ",244\n", []string{"1 circumference_cm column_twice"}, 0},
		"unit on a word":   {base + ",species_cm" + row + ",4\n", []string{"1 species_cm unknown_column"}, 1},
		"unheaded value":   {base + "," + row + ",\nU,green ash,96 in,12 in,lost\n", []string{"3 #5 unheaded"}, 1},
		"quote":            {"tag,species,girth,\"girth_height" + row, []string{"1 - quote"}, 0},
		"Latin-1":          {"tag,esp\xe8ce,girth,girth_height" + row, []string{"1 - encoding"}, 0},
		"NUL":              {"t\x00a\x00g\x00" + row, []string{"1 - nul"}, 0},
		"very long":        {strings.Repeat("x", 2<<20) + row, []string{"1 - long_line"}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			if rows := checkFaults(t, c.text, c.want...); len(rows) != c.rows {
				t.Errorf("%d rows, want %d", len(rows), c.rows)
			}
		})
	}
}

func TestTornRows(t *testing.T) {
	good := func(tag string) string { return tag + ",green ash,96 in,12 in,\n" }
	head := base + ",note\n"
	for name, c := range map[string]struct {
		text string
		want []string
		rows string
	}{
		"too few cells":     {head + good("A") + "B,green ash\n" + good("C"), []string{"3 - fields"}, "AC"},
		"too many cells":    {head + good("A") + "B,green ash,96 in,12 in,a,b\n" + good("C"), []string{"3 - fields"}, "AC"},
		"decimal commas":    {head + good("A") + "B,green ash,96,5 in,12 in,\n" + good("C"), []string{"3 - fields"}, "AC"},
		"Windows-1252":      {head + good("A") + "B,green ash,96 in,12 in,caf\xe9\n" + good("C"), []string{"3 note encoding"}, "AC"},
		"lost before":       {head + good("A") + "B,green ash,96 in,12 in,caf\ufffd\n" + good("C"), []string{"3 note lost_character"}, "AC"},
		"NUL":               {head + good("A") + "B,green ash,96 in,12 in,a\x00b\n" + good("C"), []string{"3 note nul"}, "AC"},
		"escape sequence":   {head + good("A") + "B,green ash,\x1b[2J,12 in,\n" + good("C"), []string{"3 girth length"}, "AC"},
		"open quote":        {head + good("A") + "B,green ash,96 in,12 in,\"oops\n" + good("C") + good("D"), []string{"3 - quote"}, "ACD"},
		"open at the end":   {head + good("A") + "B,green ash,96 in,12 in,\"oops", []string{"3 - quote"}, "A"},
		"closed far below":  {head + good("A") + "B,\"green ash,96 in,12 in,\n" + good("C") + "D,green ash,96 in,12 in,\"note\"\n", []string{"3 - quote"}, "ACD"},
		"text after quotes": {head + good("A") + "B,\"green\" ash,96 in,12 in,\n" + good("C"), []string{"3 - quote"}, "AC"},
		"long line":         {head + good("A") + "B,green ash,96 in,12 in," + strings.Repeat("x", 3<<20) + "\r\n" + good("C"), []string{"3 - long_line"}, "AC"},
		"long last line":    {head + good("A") + "B," + strings.Repeat("x", 1<<20), []string{"3 - long_line"}, "A"},
		"open, then long":   {head + "B,\"\n" + strings.Repeat("x", 2<<20) + "\n" + good("C"), []string{"2 - quote", "3 - long_line"}, "C"},
	} {
		t.Run(name, func(t *testing.T) {
			got := ""
			for _, r := range checkFaults(t, c.text, c.want...) {
				got += r.Tree.Tag
			}
			if got != c.rows {
				t.Errorf("trees %q, want %q", got, c.rows)
			}
		})
	}
}

func TestRowsOfOneTree(t *testing.T) {
	head := base + ",stem\n"
	stem := func(tag, name string) string { return tag + ",green ash,30 in,12 in," + name + "\n" }
	for name, c := range map[string]struct {
		text string
		want []string
		rows string
	}{
		"the same stem twice": {head + stem("A", "1") + stem("A", "1") + stem("B", ""), []string{"3 stem stem_again"}, "B"},
		"no stem names":       {head + stem("A", "") + stem("A", ""), []string{"3 stem stem_again"}, ""},
		"apart":               {head + stem("A", "1") + stem("B", "") + stem("A", "2"), []string{"4 tag tag_again"}, "AB"},
		"bad stem":            {head + stem("A", "1") + "A,green ash,0 in,12 in,2\n" + stem("B", ""), []string{"3 girth girth_range"}, "B"},
		"torn stem":           {head + stem("A", "1") + "A,green ash,30 in,2\n" + stem("B", ""), []string{"3 - fields"}, "B"},
		"torn other":          {head + stem("A", "1") + "X,green ash,30 in,2\n" + stem("B", ""), []string{"3 - fields"}, "AB"},
		"stem without tag":    {head + stem("A", "1") + stem("", "2") + stem("B", ""), []string{"3 tag missing"}, "B"},
	} {
		t.Run(name, func(t *testing.T) {
			got := ""
			for _, r := range checkFaults(t, c.text, c.want...) {
				got += r.Tree.Tag
			}
			if got != c.rows {
				t.Errorf("trees %q, want %q", got, c.rows)
			}
		})
	}
}

// A tree of ever more stems must not fill the memory.
func TestEndlessTree(t *testing.T) {
	var b strings.Builder
	b.WriteString(base + ",stem\n")
	for i := range 500 {
		fmt.Fprintf(&b, "A,green ash,30 in,12 in,%d\n", i)
	}
	_, faults := gather(t, b.String())
	if len(faults) == 0 || faults[0].Code != "tag_again" {
		t.Errorf("%d faults", len(faults))
	}
}

func TestSemicolonsMeanCommas(t *testing.T) {
	semi := strings.ReplaceAll(base, ",", ";")
	checkFaults(t, semi+"\nT;green ash;96.5 in;12 in\n", "2 girth decimal_point")
	checkFaults(t, semi+";fissures\nT;green ash;96 in;12 in;3,5 | 9 in\n")
	checkFaults(t, semi+";fissures\nT;green ash;96 in;12 in;3,5 ; 9 in\n", "2 - fields")
}

// The catalogue says in English what Error says, and has every text in every
// language with the same blanks.
func TestWords(t *testing.T) {
	load := func(lang string) map[string]string {
		raw, err := os.ReadFile(filepath.Join("..", "words", lang, "trees.json"))
		if err != nil {
			t.Fatal(err)
		}
		var m map[string]string
		if err := json.Unmarshal(raw, &m); err != nil {
			t.Fatal(err)
		}
		return m
	}
	blanks := func(s string) []string {
		found := regexp.MustCompile(`\{\w+\}`).FindAllString(s, -1)
		slices.Sort(found)
		return found
	}
	en, es := load("en"), load("es")
	for code, text := range texts {
		key := "fault.trees." + code
		if want := text.is + "; accepted: " + text.want; en[key] != want {
			t.Errorf("%s: %q, want %q", key, en[key], want)
		}
		if es[key] == "" || !slices.Equal(blanks(en[key]), blanks(es[key])) {
			t.Errorf("%s: %q", key, es[key])
		}
	}
	if len(en) != len(texts) || len(es) != len(texts) {
		t.Errorf("%d texts, %d English, %d Spanish", len(texts), len(en), len(es))
	}
}

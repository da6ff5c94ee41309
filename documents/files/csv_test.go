package files

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

func table(t testing.TB, rows [][]string) []byte {
	return written(t, func(b *bytes.Buffer) error {
		c := NewCSV(b, rows[0]...)
		for _, r := range rows[1:] {
			c.Row(r...)
		}
		return c.Close()
	})
}

func readAll(t testing.TB, b []byte) [][]string {
	t.Helper()
	var rows [][]string
	for cells, err := range ReadCSV(bytes.NewReader(b)) {
		if err != nil {
			t.Fatalf("%v in %q", err, b)
		}
		rows = append(rows, cells)
	}
	return rows
}

// RFC 4180, section 2: the forms of its rules, byte for byte.
func TestRulesOfRFC4180(t *testing.T) {
	for _, c := range []struct {
		rows [][]string
		want string
	}{
		{[][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}, "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"}, // rules 1 to 4
		{[][]string{{"aaa", "b\r\nbb", "ccc"}}, "aaa,\"b\r\nbb\",ccc\r\n"},                           // rule 6
		{[][]string{{"aaa", `b"bb`, "ccc"}}, "aaa,\"b\"\"bb\",ccc\r\n"},                              // rule 7
		{[][]string{{" a ", "b,c", ""}}, " a ,\"b,c\",\r\n"},                                         // rules 4 and 6: spaces belong to the cell
		{[][]string{{"a", `b "x"`, " c", "d"}}, "a,\"b \"\"x\"\"\", c,d\r\n"},
		{[][]string{{""}, {"x"}}, "\"\"\r\nx\r\n"}, // an empty line would be no line
	} {
		got := table(t, c.rows)
		if string(got) != c.want {
			t.Errorf("%q: %q, want %q", c.rows, got, c.want)
		}
		if back := readAll(t, got); !reflect.DeepEqual(back, c.rows) {
			t.Errorf("%q comes back as %q", c.rows, back)
		}
	}
	outside.Ran(t, "RFC 4180, section 2", "the forms of its seven rules")
}

func drawRows(t *rapid.T) [][]string {
	n := rapid.IntRange(1, 5).Draw(t, "columns")
	cell := rapid.OneOf(rapid.String(), rapid.StringMatching(`[=+\-@',"\r\n a]{0,6}`))
	return rapid.SliceOfN(rapid.SliceOfN(cell, n, n), 1, 8).Draw(t, "rows")
}

// What is written is read as it was, and guarded texts come back.
func TestTablesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := drawRows(t)
		guarded := make([][]string, len(rows))
		for i, r := range rows {
			for _, s := range r {
				g := Guard(s)
				if startsFormula(g) || Unguard(g) != s {
					t.Fatalf("%q is guarded as %q, and that comes back as %q", s, g, Unguard(g))
				}
				guarded[i] = append(guarded[i], g)
			}
		}
		var b bytes.Buffer
		c := NewCSV(&b, guarded[0]...)
		for _, r := range guarded[1:] {
			c.Row(r...)
		}
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		i := 0
		for cells, err := range ReadCSV(&b) {
			if err != nil || !reflect.DeepEqual(cells, guarded[i]) {
				t.Fatalf("row %d: %q, %v; want %q", i, cells, err, guarded[i])
			}
			i++
		}
		if i != len(rows) {
			t.Fatalf("%d rows come back: want %d", i, len(rows))
		}
	})
}

func TestGuard(t *testing.T) {
	for s, want := range map[string]string{
		"": "", "oak": "oak", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@sum": "'@sum", "\t=1": "'\t=1", "\r=1": "'\r=1", "\n=1": "'\n=1",
		"＝1": "'＝1", "'s-Hertogenbosch": "'s-Hertogenbosch", "'": "'", "'=1": "''=1", "''=1": "'''=1", "a=1": "a=1", " =1": " =1",
	} {
		if got := Guard(s); got != want || Unguard(got) != s {
			t.Errorf("%q: %q, and back %q; want %q", s, got, Unguard(got), want)
		}
	}
	if got := Unguard("'s-Hertogenbosch"); got != "'s-Hertogenbosch" {
		t.Errorf("an apostrophe of its own is taken off: %q", got)
	}
}

// Python's csv module reads every cell as it was written, and what it writes is
// read back by us.
func TestPythonReadsTheSame(t *testing.T) {
	rows := [][]string{
		{"a", "b", "c"}, {`quote "x"`, "comma, here", " outer "}, {"line\r\nend", "lone\nLF", "lone\rCR"},
		{"'=1+1", "Ясень 🌳", ""}, {"", "", ""}, {`"`, `""`, `,`},
	}
	const code = `
import csv, json, sys
csv.field_size_limit(10**6)
rows = list(csv.reader(open(sys.argv[1], newline="", encoding="utf-8"), strict=True))
sys.stdout.reconfigure(encoding="utf-8", newline="")
if sys.argv[2] == "json": print(json.dumps(rows), end="")
else: csv.writer(sys.stdout).writerows(rows)
`
	var got [][]string
	if err := json.Unmarshal([]byte(program(t, table(t, rows), ".csv", python(t), "-c", code, "FILE", "json")), &got); err != nil || !reflect.DeepEqual(got, rows) {
		t.Errorf("Python reads %q (%v), want %q", got, err, rows)
	}
	if back := readAll(t, []byte(program(t, table(t, rows), ".csv", python(t), "-c", code, "FILE", "csv"))); !reflect.DeepEqual(back, rows) {
		t.Errorf("of Python's table we read %q, want %q", back, rows)
	}
	outside.Ran(t, "Python csv module", "18 awkward cells, read by it and by us")
}

func TestBrokenTables(t *testing.T) {
	for text, want := range map[string]string{
		"a,b\r\nc\r\n": "line 2 has 1 cells: want 2", "a,\"b\r\n": "a quote is not closed", "a,b\"c\r\n": "a quote inside a cell",
		"\"a\"b,c\r\n": `'b' after a closing quote`, "a\rb,c\r\n": "carriage return inside", "\"a\"\rb": "want a line feed",
		"a,b\r\nx,\"1\n2\"\r\ny\r\n": "line 4 has 1 cells",
	} {
		var last error
		for _, err := range ReadCSV(strings.NewReader(text)) {
			last = err
		}
		if last == nil || !strings.Contains(last.Error(), want) {
			t.Errorf("%q: %v, want an error with %q", text, last, want)
		}
	}
	c := NewCSV(&bytes.Buffer{}, "a", "b")
	c.Row("1")
	if err := c.Close(); err == nil || !strings.Contains(err.Error(), "a row of 1 cells: want 2") {
		t.Errorf("a short row: %v", err)
	}
}

// No input crashes the reader; what it accepts it writes and reads again alike,
// and encoding/csv, where it accepts it too, sees as many rows.
func FuzzReadCSV(f *testing.F) {
	for _, s := range []string{"a,b\r\n1,2\r\n", "\"a\"\"b\",\"c\r\nd\"\r\n", "a\n", "", "\"", "a,\r\n,\r\n", "\r\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var rows [][]string
		for cells, err := range ReadCSV(bytes.NewReader(b)) {
			if err != nil {
				return
			}
			rows = append(rows, cells)
		}
		if len(rows) == 0 {
			return
		}
		again := table(t, rows)
		if back := readAll(t, again); !reflect.DeepEqual(back, rows) {
			t.Fatalf("%q: %q comes back as %q", b, rows, back)
		}
		r := csv.NewReader(bytes.NewReader(again))
		r.FieldsPerRecord = -1
		if theirs, err := r.ReadAll(); err == nil && len(theirs) > len(rows) {
			t.Fatalf("%q: encoding/csv sees %d rows, we %d", b, len(theirs), len(rows))
		}
	})
}

package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode/utf16"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// vector is one pair of the official test data of RFC 8785.
// Source: cyberphone/json-canonicalization, commit 19d51d7, testdata (Apache-2.0).
func vector(t *testing.T, name string) (in, out []byte) {
	t.Helper()
	in, err := os.ReadFile(filepath.Join("testdata", "rfc8785", "input", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	out, err = os.ReadFile(filepath.Join("testdata", "rfc8785", "output", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	return in, out
}

// The sums guard our copy: SHA-256 of each official output.
func TestRFC8785Vectors(t *testing.T) {
	for name, sum := range map[string]string{
		"arrays":     "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
		"french":     "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5",
		"structures": "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
		"unicode":    "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
		"values":     "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
		"weird":      "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1",
	} {
		in, want := vector(t, name)
		if got := sha256.Sum256(want); hex.EncodeToString(got[:]) != sum {
			t.Errorf("%s: the copy in testdata is not the official output", name)
		}
		in, want = withoutFloats(t, in, want)
		got, err := Canonical(in)
		if err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s:\n got %s, %v\nwant %s", name, got, err, want)
		}
		if again, err := Canonical(want); err != nil || !bytes.Equal(again, want) {
			t.Errorf("%s: the canonical form is not its own: %s, %v", name, again, err)
		}
	}
	outside.Ran(t, "RFC 8785 test data (cyberphone/json-canonicalization 19d51d7)", "six pairs; the six numbers that are no integers are refused, all else is equal")
}

// withoutFloats demands that a vector with numbers that are no integers is
// refused, and puts an integer in the place of each, in input and output. What
// is left must come out as the vector has it.
func withoutFloats(t *testing.T, in, out []byte) ([]byte, []byte) {
	t.Helper()
	for _, f := range [][3]string{ // as in the input, as in the output, instead
		{"333333333.33333329", "333333333.3333333", "101"},
		{"1E30", "1e+30", "102"},
		{"4.50", "4.5", "103"},
		{"2e-3", "0.002", "104"},
		{"0.000000000000000000000000001", "1e-27", "105"},
		{"56.0", "56", "106"},
	} {
		if !bytes.Contains(in, []byte(f[0])) {
			continue
		}
		if _, err := Canonical(in); !errors.Is(err, errWhole) {
			t.Errorf("%s is refused with %v, want %v", f[0], err, errWhole)
		}
		in = bytes.Replace(in, []byte(f[0]), []byte(f[2]), 1)
		out = bytes.Replace(out, []byte(f[1]), []byte(f[2]), 1)
	}
	return in, out
}

// Numbers: RFC 8785, appendix B, as far as the integer rule lets them in.
func TestNumbers(t *testing.T) {
	for in, want := range map[string]string{
		"0": "0", "-0": "0", "7": "7", "-7": "-7",
		"9007199254740991":  "9007199254740991",
		"-9007199254740991": "-9007199254740991",
	} {
		if got, err := Canonical([]byte(in)); err != nil || string(got) != want {
			t.Errorf("%s: %s, %v, want %s", in, got, err, want)
		}
	}
	for _, in := range []string{
		"9007199254740992", "-9007199254740992", "9007199254740993", "9007199254740994",
		"1e+21", "0.000001", "9.999999999999997e-7", "333333333.3333333", "1.0", "1e3", "1E0", "0e1", "-0.0",
		"295147905179352830000", strings.Repeat("9", 400),
	} {
		if _, err := Canonical([]byte(in)); !errors.Is(err, errWhole) {
			t.Errorf("%s: %v, want %v", in, err, errWhole)
		}
	}
	outside.Ran(t, "RFC 8785, appendix B", "-0, the largest integer and its neighbours, floats that must be refused")
}

// Reference: JSONTestSuite (nst/JSONTestSuite commit 1ef36fa, MIT). Of what must
// be accepted only our own narrower rules may refuse: numbers that are no
// integers within 2^53-1, and keys given twice.
func TestJSONSuite(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("testdata", "json_suite.json"))
	if err != nil {
		t.Fatal(err)
	}
	var suite struct{ Files map[string][]byte }
	if err := json.Unmarshal(raw, &suite); err != nil {
		t.Fatal(err)
	}
	// Too long to keep; made as the suite has them.
	suite.Files["n_structure_100000_opening_arrays.json"] = bytes.Repeat([]byte("["), 100_000)
	suite.Files["n_structure_open_array_object.json"] = append(bytes.Repeat([]byte(`[{"":`), 50_000), '\n')
	narrower := 0
	for name, text := range suite.Files {
		got, err := Canonical(text)
		ours := errors.Is(err, errWhole) || err != nil && strings.Contains(err.Error(), "twice in one object")
		switch {
		case name[0] == 'n' && err == nil:
			t.Errorf("%s was accepted: %q", name, text)
		case name[0] == 'y' && ours:
			narrower++
		case name[0] == 'y' && err != nil:
			t.Errorf("%s: %v", name, err)
		case name[0] == 'y' && !sameJSON(text, got):
			t.Errorf("%s: %s says something else than %s", name, got, text)
		}
	}
	// Fifteen with a fraction or an exponent, two with a key given twice.
	if len(suite.Files) != 283 || narrower != 17 {
		t.Errorf("%d files, %d refused by the narrower rules; want 283 and 17", len(suite.Files), narrower)
	}
	outside.Ran(t, "nst/JSONTestSuite 1ef36fa", "all y_ and n_ files; of y_ only floats and double keys are refused")
}

// sameJSON compares by the standard library's reading, for which -0 equals 0.
func sameJSON(a, b []byte) bool {
	var va, vb any
	return json.Unmarshal(a, &va) == nil && json.Unmarshal(b, &vb) == nil && reflect.DeepEqual(va, vb)
}

func TestRefused(t *testing.T) {
	for in, want := range map[string]string{
		`{"a":1,"\u0061":2}`:                     `key "a" twice`,
		`"\ud800"`:                               "lone surrogate",
		`"\udc00\ud800"`:                         "lone surrogate",
		`"\ud800\u0041"`:                         "lone surrogate",
		`"\ud800\n"`:                             "lone surrogate",
		"\"\xed\xa0\x80\"":                       "invalid UTF-8",
		"\"\xc0\xaf\"":                           "invalid UTF-8",
		"\"\xf4\x90\x80\x80\"":                   "invalid UTF-8",
		"\xef\xbb\xbf{}":                         "want a value",
		`{"a":1}{`:                               "want the end",
		strings.Repeat("[", 65) + "":             "more than 64 levels",
		`"` + strings.Repeat("x", maxLine) + `"`: "want at most 1048576",
		"":                                       "byte 1: want a value",
		"[1,\n 01]":                              "byte 8",
	} {
		if _, err := Canonical([]byte(in)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q: %v, want %q", in, err, want)
		}
	}
	deep := strings.Repeat("[", 64) + strings.Repeat("]", 64)
	if got, err := Canonical([]byte(deep)); err != nil || string(got) != deep {
		t.Errorf("64 levels: %v", err)
	}
}

// The order of keys, against UTF-16 code units compared one by one.
func TestOrderOfKeys(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune("a\x00é\ud7ff\ue000דּ\uffff😂𝄞\U0010ffff")), 0, 5, -1)
		a, b := text.Draw(t, "a"), text.Draw(t, "b")
		ua, ub := utf16.Encode([]rune(a)), utf16.Encode([]rune(b))
		want := 0
		for i := 0; want == 0 && (i < len(ua) || i < len(ub)); i++ {
			switch {
			case i == len(ua):
				want = -1
			case i == len(ub):
				want = 1
			default:
				want = int(ua[i]) - int(ub[i])
			}
		}
		got := compareUTF16([]byte(a), []byte(b))
		if got < 0 != (want < 0) || got > 0 != (want > 0) {
			t.Fatalf("%q and %q: %d, want the sign of %d", a, b, got, want)
		}
	})
}

// Whatever is accepted means the same to the standard library, and its
// canonical form is its own.
func FuzzCanonical(f *testing.F) {
	for _, s := range []string{`{"b":[1,-0,null],"a":"\u00e9\ud83d\ude02\n"}`, `[[[]]]`, `"\/"`, `1e5`, `{"a":{},"a":0}`, "\"\xff\""} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		out, err := Canonical(in)
		if err != nil {
			return
		}
		if !json.Valid(in) || !sameJSON(in, out) {
			t.Fatalf("%q became %q", in, out)
		}
		if again, err := Canonical(out); err != nil || !bytes.Equal(out, again) {
			t.Fatalf("%q is not its own canonical form: %q, %v", out, again, err)
		}
	})
}

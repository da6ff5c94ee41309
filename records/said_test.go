package records

import (
	"reflect"
	"slices"
	"testing"

	"sapwell/words"
)

// allSaid are all texts below a value.
func allSaid(v reflect.Value) (list []Said) {
	if s, ok := v.Interface().(Said); ok {
		return []Said{s}
	}
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() || v.Type() == reflect.TypeFor[jurisdiction]() {
				list = append(list, allSaid(v.Field(i))...)
			}
		}
	case reflect.Slice:
		for i := range v.Len() {
			list = append(list, allSaid(v.Index(i))...)
		}
	}
	return list
}

// Every text of every profile is there in every language that people read here, and
// none was only copied.
func TestSaidInEveryLanguage(t *testing.T) {
	var langs []string
	for i := range reflect.TypeFor[Said]().NumField() {
		langs = append(langs, reflect.TypeFor[Said]().Field(i).Tag.Get("json"))
	}
	slices.Sort(langs)
	if !slices.Equal(langs, words.Languages()) {
		t.Fatalf("texts in %v, the catalogue in %v", langs, words.Languages())
	}
	b := all()
	texts := append(allSaid(reflect.ValueOf(b.formats)), allSaid(reflect.ValueOf(b.orders))...)
	texts = append(texts, b.undone, b.unplaced)
	for _, j := range b.jurisdictions {
		texts = append(texts, j.Name)
		texts = append(texts, allSaid(reflect.ValueOf(j.Versions))...)
	}
	if len(texts) < 150 {
		t.Errorf("only %d texts were found", len(texts))
	}
	for _, s := range texts {
		if !s.whole() || s.EN == s.ES || s.In("en") != s.EN || s.In("es") != s.ES || s.In("fr") != s.EN {
			t.Errorf("%+v", s)
		}
	}
}

// A finding is said in the language that is asked for.
func TestJudgedInALanguage(t *testing.T) {
	r := changed(t, `{"profiles":["us-ny"],"contract":null}`)
	for lang, want := range map[string]string{
		"en": "written contract before a commercial lawn application",
		"es": "contrato escrito antes de una aplicación comercial en jardines",
	} {
		if f := Judge(r, lang).Findings; len(f) != 1 || f[0].Text != want {
			t.Errorf("%s: %+v", lang, f)
		}
	}
	if n := NameOf("us-ny"); n.ES != "Nueva York: ECL 33-1205, 33-1001, 33-1003" || NameOf("us-xx").EN != "us-xx" {
		t.Errorf("%+v, %+v", n, NameOf("us-xx"))
	}
}

package journal

import "testing"

const benchBody = `{"at_nm":250000000,"bit_nm":5000000,"by":"018bcfe5-6800-7000-8000-000000000000","depth_nm":15000000,"height_nm":300000000,"mark":3,"tree":"018bcfe5-6800-7000-8000-000000000000","v":1,"visit":"018bcfe5-6800-7000-8000-000000000000"}`

func benchEntry(b *testing.B) Entry {
	b.Helper()
	var j Journal
	if _, err := j.Append(testKey(0), draft(1, benchBody)); err != nil {
		b.Fatal(err)
	}
	e, err := j.Append(testKey(0), draft(2, benchBody))
	if err != nil {
		b.Fatal(err)
	}
	return e
}

func BenchmarkReadEntry(b *testing.B) {
	e := benchEntry(b)
	for b.Loop() {
		if _, err := ReadEntry(e.Line); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadKept(b *testing.B) {
	e := benchEntry(b)
	for b.Loop() {
		if _, err := ReadKept(e.Line, e.hash); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNext(b *testing.B) {
	e := benchEntry(b)
	last := Known{Device: e.Device, Hash: e.hash, Seq: e.Seq}
	for b.Loop() {
		if _, err := Next(testKey(0), last, draft(3, benchBody)); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSignedBy(b *testing.B) {
	e := benchEntry(b)
	first, err := Next(testKey(0), Known{}, draft(1, benchBody))
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := e.SignedBy(first.Key); err != nil {
			b.Fatal(err)
		}
	}
}

package journal

import (
	"encoding/binary"
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// RFC 9562, appendix A.6: Unix time 1645557742000 ms, rand_a CC3, rand_b
// 18C4DC0C0C07398F.
func TestExampleOfRFC9562(t *testing.T) {
	const want = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
	var random [10]byte
	binary.BigEndian.PutUint16(random[:], 0xcc3)
	binary.BigEndian.PutUint64(random[2:], 0x18c4dc0c0c07398f)
	at := time.Date(2022, 2, 22, 19, 22, 22, 0, time.UTC).UnixMilli()
	id, err := NewID(ID{}, at, random)
	if err != nil || id.String() != want || id.ms() != 0x017f22e279b0 {
		t.Errorf("%s, %v, want %s", id, err, want)
	}
	var read ID
	if err := read.UnmarshalText([]byte(want)); err != nil || read != id {
		t.Errorf("read %s, %v", read, err)
	}
	if text, err := json.Marshal(id); err != nil || string(text) != `"`+want+`"` {
		t.Errorf("as JSON %s, %v", text, err)
	}
	outside.Ran(t, "RFC 9562, appendix A.6", "the example UUIDv7, made and read")
}

// Every id is greater than the last, whatever the clock does.
func TestIDsGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var last ID
		for range 20 {
			ms := rapid.Int64Range(1000, 1003).Draw(t, "ms")
			var random [10]byte
			for i := range random { // often all ones, so that the counter overflows
				random[i] = rapid.SampledFrom([]byte{0, 1, 255, 255}).Draw(t, "random")
			}
			id, err := NewID(last, ms, random)
			if err != nil || !id.valid() {
				t.Fatal(id, err)
			}
			if id.compare(last) <= 0 || id.ms() < ms {
				t.Fatalf("%s after %s at %d", id, last, ms)
			}
			last = id
		}
	})
}

func TestIDsRefused(t *testing.T) {
	ones := [10]byte{255, 255, 255, 255, 255, 255, 255, 255, 255, 255}
	end, err := NewID(ID{}, maxTime, ones)
	if err != nil {
		t.Fatal(err)
	}
	for name, err := range map[string]error{
		"before 1970":     second(NewID(ID{}, -1, ones)),
		"beyond 48 bits":  second(NewID(ID{}, maxTime+1, ones)),
		"none is greater": second(NewID(end, 0, ones)),
	} {
		if err == nil {
			t.Errorf("%s passed", name)
		}
	}
	for _, text := range []string{
		"", "017F22E2-79B0-7CC3-98C4-DC0C0C07398F", "017f22e279b07cc398c4dc0c0c07398f",
		"017f22e2-79b0-4cc3-98c4-dc0c0c07398f", "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",
		"017f22e2-79b0-7cc3-98c4-dc0c0c07398", "017f22e2-79b0-7cc3-98c4dc0c0c07-398f",
	} {
		if err := new(ID).UnmarshalText([]byte(text)); err == nil {
			t.Errorf("%q passed", text)
		}
	}
}

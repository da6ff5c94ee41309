package sqlstore

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestNumbersComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want []int64
		var kept numbers
		for range rapid.IntRange(0, 4).Draw(t, "times") {
			more := rapid.SliceOfDistinct(rapid.OneOf(rapid.Int64Range(0, 9), rapid.Int64Range(0, math.MaxInt64>>1)), rapid.ID).Draw(t, "more")
			slices.Sort(more)
			more = slices.DeleteFunc(more, func(n int64) bool { return len(want) > 0 && n <= want[len(want)-1] })
			next, err := kept.with(more)
			if err != nil {
				t.Fatal(err)
			}
			kept, want = next, append(want, more...)
		}
		if got, err := kept.all(); err != nil || !slices.Equal(got, want) {
			t.Fatalf("%v, %v; want %v", got, err, want)
		}
	})
}

func TestNumbersGrow(t *testing.T) {
	kept, err := numbers(nil).with([]int64{0, 1, 300})
	if err != nil || !bytes.Equal(kept, []byte{0, 1, 0xab, 2}) { // 299 is 2·128 + 43
		t.Fatalf("% x, %v", kept, err)
	}
	for _, n := range []int64{300, 299, -1} {
		if _, err := kept.with([]int64{n}); err == nil {
			t.Errorf("%d was taken after 300", n)
		}
	}
}

func FuzzNumbers(f *testing.F) {
	f.Add([]byte{0, 1, 0xab, 2}, int64(301))
	f.Add([]byte{0x80}, int64(1))
	f.Add([]byte{1, 0}, int64(1))
	f.Fuzz(func(t *testing.T, b []byte, n int64) {
		all, err := numbers(b).all()
		if err != nil {
			return
		}
		if !slices.IsSorted(all) || len(all) > 0 && all[0] < 0 {
			t.Fatalf("% x says %v", b, all)
		}
		if next, err := numbers(b).with([]int64{n}); err == nil {
			if got, err := next.all(); err != nil || !slices.Equal(got, append(all, n)) {
				t.Fatalf("%v and %d give %v, %v", all, n, got, err)
			}
		}
	})
}

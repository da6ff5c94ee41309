// Package synctest answers: whatever a network and its users do, do all journals
// end equal, with nothing lost and nothing silently won?
//
// Run plays histories that follow from a seed. Some devices with journals of
// their own and one office write, each by what it knows; gifts between them come
// twice, late, out of order, cut off in the middle of a line, or never. Clocks are
// a day apart and are set back. A device is revoked and goes on writing, another
// is restored from an old copy. At the end everybody meets, and all is counted.
package synctest

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"sapwell/store"
)

// Run plays histories with an office in a store: so many in the short form, 500
// with SAPWELL_TORTURE=1, one with SAPWELL_SEED=its number.
func Run(t *testing.T, open func(t *testing.T) store.Store, short int) {
	from, to := 1, short
	if os.Getenv("SAPWELL_TORTURE") == "1" {
		to = 500
	}
	if n, err := strconv.Atoi(os.Getenv("SAPWELL_SEED")); err == nil {
		from, to = n, n
	}
	s := open(t)
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	var sum tally
	for seed := from; seed <= to; seed++ {
		ok := t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			w := begin(t, s, uint64(seed))
			w.play()
			w.end()
			sum.add(w.tally)
		})
		if !ok {
			t.Fatalf("to play this one alone: SAPWELL_SEED=%d go test -run '%s'", seed, t.Name())
		}
	}
	t.Logf("%d histories: %s", to-from+1, sum)
}

// tally is what happened, to show that the histories are not empty ones.
type tally struct {
	devices, entries, gifts, twice, late, cut, shuffled, lostOnTheWay int
	restored, revoked, forks, aside, crossed, doubles, flags          int
}

func (s *tally) add(o tally) {
	s.devices += o.devices
	s.entries += o.entries
	s.gifts += o.gifts
	s.twice += o.twice
	s.late += o.late
	s.cut += o.cut
	s.shuffled += o.shuffled
	s.lostOnTheWay += o.lostOnTheWay
	s.restored += o.restored
	s.revoked += o.revoked
	s.forks += o.forks
	s.aside += o.aside
	s.crossed += o.crossed
	s.doubles += o.doubles
	s.flags += o.flags
}

func (s tally) String() string {
	return fmt.Sprintf("%d devices, %d entries, %d gifts (%d came twice, %d late, %d cut off, %d out of order, %d never); %d devices restored from an old copy (%d forks), %d revoked (%d entries aside), %d corrections crossed, %d holes with two units, %d flags",
		s.devices, s.entries, s.gifts, s.twice, s.late, s.cut, s.shuffled, s.lostOnTheWay, s.restored, s.forks, s.revoked, s.aside, s.crossed, s.doubles, s.flags)
}

package sqlstore

import (
	"encoding/binary"
	"errors"
)

// numbers is a list of ascending numbers of entries. Each is written as its
// distance from the one before, the first from 0, as a varint (encoding/binary): a
// byte or two for each.
type numbers []byte

func (p numbers) all() ([]int64, error) {
	var all []int64
	var last int64
	for rest := p; len(rest) > 0; {
		step, n := binary.Uvarint(rest)
		if n <= 0 || step > 1<<62 || last+int64(step) < last || step == 0 && len(all) > 0 {
			return nil, errNumbers
		}
		last += int64(step)
		all, rest = append(all, last), rest[n:]
	}
	return all, nil
}

// with is the list with more numbers, all of them greater.
func (p numbers) with(more []int64) (numbers, error) {
	all, err := p.all()
	if err != nil {
		return nil, err
	}
	longer := append(numbers{}, p...)
	last := int64(-1)
	if len(all) > 0 {
		last = all[len(all)-1]
	}
	for _, n := range more {
		if n <= last {
			return nil, errNumbers
		}
		longer = binary.AppendUvarint(longer, uint64(n-max(last, 0)))
		last = n
	}
	return longer, nil
}

var errNumbers = errors.New("the numbers of the entries that speak of a subject are damaged; rebuild the views")

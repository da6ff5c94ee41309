package main

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// dataID is the id of a module's section of data (WebAssembly core specification,
// section 5.5).
const dataID = 11

// module is a program with its data laid out as memory.
type module struct {
	before, after []byte // the sections round the data, as they were
	base          uint64 // address of memory[0]
	memory        []byte
}

var errCut = errors.New("the module is cut off")

// parse reads a module. Of its sections only the data is looked into.
func parse(program []byte) (*module, error) {
	if len(program) < 8 || !bytes.Equal(program[:8], []byte("\x00asm\x01\x00\x00\x00")) {
		return nil, errors.New("no WebAssembly module of version 1")
	}
	for at := 8; at < len(program); {
		size, n := binary.Uvarint(program[at+1:])
		body := at + 1 + n
		if n <= 0 || size > uint64(len(program)-body) {
			return nil, errCut
		}
		end := body + int(size) //nolint:gosec // it is within the program
		if program[at] == dataID {
			m := &module{before: program[:at], after: program[end:]}
			return m, m.lay(program[body:end])
		}
		at = end
	}
	return nil, errors.New("the module has no data")
}

// segment is a piece of memory.
type segment struct {
	at   uint64
	text []byte
}

// lay puts the segments of the data where they belong.
func (m *module) lay(data []byte) error {
	segments, err := readSegments(data)
	if err != nil || len(segments) == 0 {
		return cmp.Or(err, errors.New("the module has no data"))
	}
	slices.SortFunc(segments, func(a, b segment) int { return cmp.Compare(a.at, b.at) })
	m.base = segments[0].at
	for _, s := range segments {
		end := m.base + uint64(len(m.memory))
		if s.at < end {
			return errors.New("segments of data overlap")
		}
		m.memory = append(append(m.memory, make([]byte, s.at-end)...), s.text...)
	}
	return nil
}

func readSegments(data []byte) (segments []segment, err error) {
	const most = 1 << 30 // bytes of memory
	count, n := binary.Uvarint(data)
	data = data[max(n, 0):]
	for range count {
		if len(data) < 2 || data[0] != 0 || data[1] != 0x41 { // active, at a constant
			return nil, errors.New("a segment of data is of a kind that Go does not make")
		}
		address, n := signed(data[2:])
		data = data[2+n:]
		if n == 0 || len(data) == 0 || data[0] != 0x0b {
			return nil, errCut
		}
		size, n := binary.Uvarint(data[1:])
		if data = data[1+max(n, 0):]; n <= 0 || size > uint64(len(data)) {
			return nil, errCut
		}
		if address < 0 || address > most {
			return nil, fmt.Errorf("a segment of data at %d", address)
		}
		segments = append(segments, segment{uint64(address), data[:size]})
		data = data[size:]
	}
	return segments, nil
}

// signed reads a signed LEB128 number; n is 0 where it is cut off.
func signed(b []byte) (v int64, n int) {
	for shift := 0; n < len(b) && shift < 64; n++ {
		v |= int64(b[n]&0x7f) << shift
		shift += 7
		if b[n] < 0x80 {
			if b[n]&0x40 != 0 && shift < 64 {
				v |= -1 << shift
			}
			return v, n + 1
		}
	}
	return 0, 0
}

func appendSigned(out []byte, v int64) []byte {
	for {
		b := byte(v & 0x7f)
		v >>= 7
		if v == 0 && b&0x40 == 0 || v == -1 && b&0x40 != 0 {
			return append(out, b)
		}
		out = append(out, b|0x80)
	}
}

// zeros is how many zeros in a row end a segment: fewer are cheaper to write.
const zeros = 64

// bytes writes the module with the data as it is now. Memory that is zero is not
// written: it is zero to begin with.
func (m *module) bytes() []byte {
	var segments []byte
	count := uint64(0)
	for at := 0; at < len(m.memory); {
		for at < len(m.memory) && m.memory[at] == 0 {
			at++
		}
		end, run := at, 0
		for i := at; i < len(m.memory) && run < zeros; i++ {
			if run++; m.memory[i] != 0 {
				end, run = i+1, 0
			}
		}
		if end > at {
			segments = append(segments, 0, 0x41)
			segments = appendSigned(segments, int64(m.base)+int64(at)) //nolint:gosec // at most 1 GiB
			segments = append(segments, 0x0b)
			segments = binary.AppendUvarint(segments, uint64(end-at)) //nolint:gosec // not below 0
			segments = append(segments, m.memory[at:end]...)
			count++
		}
		at = end
		if end == at && run >= zeros {
			at += run
		}
	}
	data := append(binary.AppendUvarint(nil, count), segments...)
	out := append(bytes.Clone(m.before), dataID)
	out = append(binary.AppendUvarint(out, uint64(len(data))), data...)
	return append(out, m.after...)
}

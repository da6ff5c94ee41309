package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// What package runtime calls them: pcHeader, funcnametab, cutab, filetab, pctab, and
// pclntab, which begins with functab and holds a _func for each function.
const (
	magic      = 0xfffffff1 // of Go 1.20 and later
	headerSize = 8 + 8*8    // of 64-bit words, as they are on WebAssembly
	funcSize   = 44         // of a _func, before its pcdata; its last byte counts its funcdata
)

// unused are the pcdata of a function that nothing asks for on WebAssembly: where it
// may be stopped by a signal, of which there are none, and which arguments a trace may
// show (internal/abi, symtab.go: PCDATA_UnsafePoint and PCDATA_ArgLiveIndex).
var unused = [...]int{0, 3}

// traceData is the first of the tables of a function that only traces read: its
// arguments, which of them are alive, what it wraps (internal/abi, symtab.go:
// FUNCDATA_ArgInfo, FUNCDATA_ArgLiveInfo, FUNCDATA_WrapInfo).
const traceData = 5

// none stands for a table that is not there.
const none = 0xffffffff

// tables are where the parts of the tables lie in memory.
type tables struct {
	names, units, files, pcs []byte // until the next of them
	funcs                    []byte // functab and the functions
	count                    int
}

// findTables looks for the header.
func findTables(memory []byte) (*tables, error) {
	want := binary.LittleEndian.AppendUint32(nil, magic)
	want = append(want, 0, 0, 1, 8) // instructions of 1, words of 8 bytes
	for from := 0; ; {
		i := bytes.Index(memory[from:], want)
		if i < 0 {
			return nil, errors.New("there are no tables of functions of the known version in it: was it made by another Go?")
		}
		if t, err := readHeader(memory[from+i:]); err == nil {
			return t, nil
		}
		from += i + 1
	}
}

func readHeader(b []byte) (*tables, error) {
	if len(b) < headerSize {
		return nil, errCut
	}
	word := func(i int) uint64 { return binary.LittleEndian.Uint64(b[8+8*i:]) }
	at := [6]uint64{word(3), word(4), word(5), word(6), word(7), uint64(len(b))}
	for i, offset := range at[:5] {
		if offset < headerSize || offset > at[i+1] {
			return nil, fmt.Errorf("part %d of the tables is at %d", i, offset)
		}
	}
	t := &tables{
		names: b[at[0]:at[1]], units: b[at[1]:at[2]], files: b[at[2]:at[3]], pcs: b[at[3]:at[4]], funcs: b[at[4]:],
		count: int(word(0)), //nolint:gosec // looked at in the next line
	}
	if t.count <= 0 || t.count > len(t.funcs)/8 {
		return nil, fmt.Errorf("%d functions", t.count)
	}
	return t, nil
}

// clear takes out files, lines and names.
func (t *tables) clear() error {
	needed := make([]bool, len(t.pcs))
	for i := range t.count {
		f, err := t.function(i)
		if err != nil {
			return err
		}
		if err := t.keep(f, needed); err != nil {
			return fmt.Errorf("function %d: %w", i, err)
		}
		if err := t.clearName(f); err != nil {
			return fmt.Errorf("function %d: %w", i, err)
		}
		clearTraces(f)
		clear(f[20:28]) // pcfile and pcln: 0 is no table
		clear(f[32:40]) // the unit whose files they are, and the line where it begins
	}
	for i := range t.pcs {
		if !needed[i] {
			t.pcs[i] = 0
		}
	}
	clear(t.units)
	clear(t.files)
	return nil
}

// function is a _func with what follows it.
func (t *tables) function(i int) ([]byte, error) {
	offset := binary.LittleEndian.Uint32(t.funcs[8*i+4:])
	if uint64(offset)+funcSize > uint64(len(t.funcs)) {
		return nil, fmt.Errorf("function %d is at %d", i, offset)
	}
	f := t.funcs[offset:]
	if size := funcSize + 4*(uint64(word32(f, 28))+uint64(f[43])); size > uint64(len(f)) {
		return nil, fmt.Errorf("function %d is cut off", i)
	}
	return f, nil
}

func word32(b []byte, at int) uint32 { return binary.LittleEndian.Uint32(b[at:]) }

// keep notes the tables of a function that it is run by: pcsp and pcdata.
func (t *tables) keep(f []byte, needed []bool) error {
	offsets := []uint32{word32(f, 16)}
	for i := range int(word32(f, 28)) {
		at := funcSize + 4*i
		if slices.Contains(unused[:], i) {
			clear(f[at : at+4]) // 0 is no table
		}
		offsets = append(offsets, word32(f, at))
	}
	for _, offset := range offsets {
		if offset == 0 {
			continue
		}
		end, err := t.endOf(offset)
		if err != nil {
			return err
		}
		for i := int(offset); i < end; i++ {
			needed[i] = true
		}
	}
	return nil
}

// clearTraces takes out the tables that only traces read.
func clearTraces(f []byte) {
	first := funcSize + 4*int(word32(f, 28))
	for i := traceData; i < int(f[43]); i++ {
		binary.LittleEndian.PutUint32(f[first+4*i:], none)
	}
}

// endOf walks a table of pairs of a step of the value and a step of the place; a step
// of 0 that is not the first ends it.
func (t *tables) endOf(offset uint32) (int, error) {
	at := int(offset)
	for first := true; ; first = false {
		for part := range 2 {
			if at >= len(t.pcs) {
				return 0, errCut
			}
			v, n := binary.Uvarint(t.pcs[at:])
			if n <= 0 {
				return 0, errCut
			}
			if at += n; part == 0 && v == 0 && !first {
				return at, nil
			}
		}
	}
}

// clearName takes out a name. The runtime asks of some whether they are its own.
func (t *tables) clearName(f []byte) error {
	offset := word32(f, 4)
	if uint64(offset) >= uint64(len(t.names)) {
		return fmt.Errorf("its name is at %d", offset)
	}
	name := t.names[offset:]
	end := bytes.IndexByte(name, 0)
	if end < 0 {
		return errCut
	}
	if !bytes.HasPrefix(name, []byte("runtime.")) {
		clear(name[:end])
		clear(f[4:8]) // 0 is no name
	}
	return nil
}

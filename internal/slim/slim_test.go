package main

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sapwell/internal/outside"
)

// A program that panics, collects garbage and recovers does the same when it is slim,
// and says nothing of where.
func TestSlimProgramRuns(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program for WebAssembly")
	}
	node := outside.Tool(t, "node")
	dir := t.TempDir()
	const source = `package main

import (
	"fmt"
	"os"
	"runtime"
	"sort"
)

type tree struct{ left, right *tree }

func grow(n int) *tree {
	if n == 0 {
		return nil
	}
	return &tree{grow(n - 1), grow(n - 1)}
}

func (t *tree) size() int {
	if t == nil {
		return 0
	}
	return 1 + t.left.size() + t.right.size()
}

func try(i int) (said string) {
	defer func() { said = fmt.Sprint(recover()) }()
	return fmt.Sprint([]int{1, 2, 3}[i])
}

func main() {
	kept := grow(12)
	done := make(chan int)
	for g := range 4 {
		go func() {
			for range 50 {
				grow(10)
			}
			done <- g
		}()
	}
	var all []int
	for range 4 {
		all = append(all, <-done)
	}
	sort.Ints(all)
	runtime.GC()
	_, file, line, _ := runtime.Caller(0)
	fmt.Println(kept.size(), all, try(1), "|", try(7), "|", file, line)
	os.Exit(7)
}
`
	whole, slimmed := filepath.Join(dir, "whole.wasm"), filepath.Join(dir, "slim.wasm")
	if err := os.WriteFile(filepath.Join(dir, "main.go"), []byte(source), 0o600); err != nil {
		t.Fatal(err)
	}
	build := exec.Command("go", "build", "-ldflags=-s -w", "-o", whole, filepath.Join(dir, "main.go"))
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if err := run(whole, slimmed); err != nil {
		t.Fatal(err)
	}
	goroot, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		t.Fatal(err)
	}
	runner := filepath.Join(strings.TrimSpace(string(goroot)), "lib/wasm/wasm_exec_node.js")
	for program, want := range map[string]string{
		whole:   "4095 [0 1 2 3] <nil> | runtime error: index out of range [7] with length 3 | " + filepath.Join(dir, "main.go") + " 48\n",
		slimmed: "4095 [0 1 2 3] <nil> | runtime error: index out of range [7] with length 3 | ? 0\n",
	} {
		cmd := exec.Command(node, runner, program)
		out, err := cmd.Output()
		if string(out) != want || cmd.ProcessState.ExitCode() != 7 {
			t.Errorf("%s: %q (%v), want %q", filepath.Base(program), out, err, want)
		}
	}
	outside.Ran(t, "Node.js and its WebAssembly", "a slim program runs as the whole one does")
}

// Whatever lies in memory lies there again.
func TestMemoryRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var memory []byte
		for range rapid.IntRange(1, 20).Draw(t, "pieces") {
			memory = append(memory, rapid.SliceOfN(rapid.Byte(), 0, 50).Draw(t, "text")...)
			memory = append(memory, make([]byte, rapid.IntRange(0, 200).Draw(t, "zeros"))...)
		}
		memory = append(append([]byte{1}, memory...), 1)
		m := &module{before: []byte("\x00asm\x01\x00\x00\x00\x00\x02\x01x"), after: []byte("\x00\x02\x01y"), base: rapid.Uint64Range(0, 1<<20).Draw(t, "base"), memory: memory}
		back, err := parse(m.bytes())
		if err != nil || !bytes.Equal(back.memory, memory) || back.base != m.base || !bytes.Equal(back.before, m.before) || !bytes.Equal(back.after, m.after) {
			t.Fatalf("%v: %d bytes at %d, want %d at %d", err, len(back.memory), back.base, len(memory), m.base)
		}
	})
}

// LEB128 as the DWARF standard (version 4, appendix C, figures 22 and 23) has it.
func TestSigned(t *testing.T) {
	for v, want := range map[int64][]byte{
		2: {2}, -2: {0x7e}, 127: {0xff, 0}, -127: {0x81, 0x7f}, 128: {0x80, 1}, -128: {0x80, 0x7f}, 129: {0x81, 1}, -129: {0xff, 0x7e},
	} {
		if got := appendSigned(nil, v); !bytes.Equal(got, want) {
			t.Errorf("%d: % x, want % x", v, got, want)
		}
		if got, n := signed(want); got != v || n != len(want) {
			t.Errorf("% x: %d in %d bytes, want %d", want, got, n, v)
		}
	}
	outside.Ran(t, "DWARF 4, figures 22 and 23 (from memory)", "signed LEB128")
}

func TestRefused(t *testing.T) {
	none := (&module{before: []byte("\x00asm\x01\x00\x00\x00"), base: 1, memory: []byte("nothing of Go")}).bytes()
	other := bytes.Clone(none)
	copy(other[bytes.Index(other, []byte("nothing")):], binary.LittleEndian.AppendUint32(nil, magic+1))
	for _, program := range [][]byte{nil, []byte("\x7fELF"), []byte("\x00asm\x01\x00\x00\x00"), none, other, none[:len(none)-3]} {
		if out, err := slim(program); err == nil {
			t.Errorf("% x came out as % x", program, out)
		}
	}
}

// A program whose tables nobody looked at stays as it is.
func TestUnknownVersion(t *testing.T) {
	if out, err := slimOf([]byte("\x00asm\x01\x00\x00\x00"), "go1.99.1"); err == nil || !strings.Contains(err.Error(), "go1.99.1") {
		t.Errorf("%q, %v", out, err)
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	program := []byte("\x00asm\x01\x00\x00\x00 of no Go")
	if err := os.WriteFile(in, program, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := run(in, out); err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(out); err != nil || !bytes.Equal(got, program) {
		t.Errorf("%q, %v", got, err)
	}
}

// FuzzSlim: whatever is given, there is a program or an error.
func FuzzSlim(f *testing.F) {
	head := binary.LittleEndian.AppendUint32(nil, magic)
	head = append(head, 0, 0, 1, 8)
	for _, word := range []uint64{1, 0, 0, 72, 80, 84, 88, 96} {
		head = binary.LittleEndian.AppendUint64(head, word)
	}
	head = append(head, make([]byte, 200)...)
	f.Add((&module{before: []byte("\x00asm\x01\x00\x00\x00"), memory: append([]byte{1}, head...)}).bytes())
	f.Fuzz(func(t *testing.T, program []byte) {
		if out, err := slim(program); err == nil {
			if _, err := parse(out); err != nil {
				t.Fatal(err)
			}
		}
	})
}

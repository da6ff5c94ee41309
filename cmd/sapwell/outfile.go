package main

import (
	"bufio"
	"errors"
	"io"
	"os"
	"path/filepath"
)

// writeFile writes a file whole or not at all: to a neighbour first, then
// renamed into place. What is there and no file (/dev/null, a pipe) is written
// into, never replaced.
func writeFile(name string, write func(io.Writer) error) error {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return writeInto(name, write)
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // after the rename there is nothing left to remove
	w := bufio.NewWriterSize(tmp, 1<<16)
	if err := write(w); err != nil {
		tmp.Close()
		return err
	}
	if err := w.Flush(); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Chmod(0o644); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), name)
}

func writeInto(name string, write func(io.Writer) error) error {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}

package main

import (
	"bufio"
	"errors"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"syscall"
)

// writeFile writes a file whole or not at all: to a neighbour first, then
// renamed into place. What is there and no file (/dev/null, a pipe) is written
// into, never replaced.
func writeFile(name string, write func(io.Writer) error) error {
	return writeMode(name, 0o644, write)
}

// writeSecret is writeFile for what nobody else may read.
func writeSecret(name string, write func(io.Writer) error) error {
	return writeMode(name, 0o600, write)
}

func writeMode(name string, mode os.FileMode, write func(io.Writer) error) error {
	if info, err := os.Stat(name); err == nil && !info.Mode().IsRegular() {
		return writeInto(name, write)
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		if path, ok := errors.AsType[*os.PathError](err); ok {
			path.Path = name // the name the person gave
		}
		return err
	}
	defer os.Remove(tmp.Name()) // after the rename there is nothing left to remove
	defer removeIfStopped(tmp.Name())()
	w := bufio.NewWriterSize(tmp, 1<<16)
	if err := write(w); err != nil {
		tmp.Close()
		return err
	}
	if err := w.Flush(); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Chmod(mode); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Close(); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), name)
}

// sameFile reports whether two names lead to one regular file, be it there or not.
func sameFile(a, b string) bool {
	one, errA := os.Stat(a)
	other, errB := os.Stat(b)
	if errA == nil && errB == nil {
		return one.Mode().IsRegular() && os.SameFile(one, other)
	}
	return filepath.Clean(a) == filepath.Clean(b)
}

// removeIfStopped takes a half-made file away when the person, or the machine,
// stops the program. The caller ends the watch.
func removeIfStopped(name string) (end func()) {
	stopped, ended := make(chan os.Signal, 1), make(chan struct{})
	signal.Notify(stopped, os.Interrupt, syscall.SIGTERM)
	go func() {
		select {
		case <-stopped:
			os.Remove(name)
			os.Exit(exitStopped)
		case <-ended:
		}
	}()
	return func() { signal.Stop(stopped); close(ended) }
}

func writeInto(name string, write func(io.Writer) error) error {
	f, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}

//go:build linux || darwin

package main

import "syscall"

// freeBytes is how much a folder's disk still takes of this user.
func freeBytes(folder string) (int64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(folder, &s); err != nil {
		return 0, err
	}
	return int64(s.Bavail) * int64(s.Bsize), nil //nolint:unconvert // their types differ between systems
}

//go:build !linux && !darwin

package main

import "errors"

// freeBytes is not asked of other systems.
func freeBytes(string) (int64, error) { return 0, errors.ErrUnsupported }

//go:build js && wasm && desk

package main

import (
	"sapwell/pocket"
	"sapwell/pocket/desk"
)

// engine is that of an office's screen.
func engine() *pocket.Pocket { return desk.New() }

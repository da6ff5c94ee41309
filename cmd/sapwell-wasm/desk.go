//go:build js && wasm && desk

package main

import (
	"sapwell/pocket"
	"sapwell/pocket/desk"
)

// more are the calls of an office's screen.
func more() pocket.Calls { return desk.Calls() }

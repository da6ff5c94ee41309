//go:build js && wasm && !desk

package main

import "sapwell/pocket"

// more is nothing: a phone loads no more than it needs.
func more() pocket.Calls { return nil }

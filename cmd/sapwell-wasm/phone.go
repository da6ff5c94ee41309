//go:build js && wasm && !desk

package main

import "sapwell/pocket"

// engine is a phone's, which has to load no more than it needs.
func engine() *pocket.Pocket { return pocket.New() }

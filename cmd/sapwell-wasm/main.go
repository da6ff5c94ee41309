//go:build js && wasm

// Command sapwell-wasm carries what a phone knows and does into a browser: it hangs
// pocket's Call on globalThis.sapwell and waits for calls. Built with the tag desk it
// answers an office's screen besides.
package main

import (
	"syscall/js"
)

func main() {
	p := engine()
	call := js.FuncOf(func(_ js.Value, args []js.Value) any {
		input := make([]byte, args[1].Get("length").Int())
		js.CopyBytesToGo(input, args[1])
		output := p.Call(args[0].String(), input)
		answer := js.Global().Get("Uint8Array").New(len(output))
		js.CopyBytesToJS(answer, output)
		return answer
	})
	js.Global().Set("sapwell", map[string]any{"call": call})
	select {}
}

//go:build js && wasm

// Command sapwell-check lets the page of a folder for an inspector check that folder
// in the browser, with no server: it hangs three functions on globalThis.sapwellCheck.
//
//	open(manifest)        "" or what is wrong with the manifest
//	file(path, content)   "" or what is wrong with a file
//	gone(paths)           the files that the manifest names besides
package main

import (
	"strings"
	"syscall/js"

	"sapwell/dossier"
)

func main() {
	var manifest dossier.Manifest
	said := func(err error) any {
		if err != nil {
			return err.Error()
		}
		return ""
	}
	js.Global().Set("sapwellCheck", map[string]any{
		"open": js.FuncOf(func(_ js.Value, args []js.Value) any {
			var err error
			manifest, err = dossier.Open(content(args[0]))
			return said(err)
		}),
		"file": js.FuncOf(func(_ js.Value, args []js.Value) any {
			data := content(args[1])
			return said(manifest.CheckFile(dossier.Of(args[0].String(), data), data))
		}),
		"gone": js.FuncOf(func(_ js.Value, args []js.Value) any {
			return strings.Join(manifest.Gone(strings.Split(args[0].String(), "\n")), "\n")
		}),
	})
	select {}
}

// content is a Uint8Array.
func content(v js.Value) []byte {
	data := make([]byte, v.Get("length").Int())
	js.CopyBytesToGo(data, v)
	return data
}

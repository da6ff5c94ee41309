package treelist_test

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
)

// plainList is a list of n trees with what no list can do without.
func plainList(n int) []byte {
	var b bytes.Buffer
	if err := writePlain(&b, n); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}

func writePlain(w io.Writer, n int) error {
	out := bufio.NewWriter(w)
	fmt.Fprintln(out, "tag,species,girth,girth_height,canopy_loss,site")
	for i := range n {
		fmt.Fprintf(out, "T%07d,Fraxinus pennsylvanica,%d in,12 in,10,Street %d\n", i, 30+i*7%90, i/250)
	}
	return out.Flush()
}

package documents

import (
	"fmt"

	"github.com/skip2/go-qrcode"
)

// qrModules are the dark and light squares of a code, without its quiet zone.
func qrModules(content string) ([][]bool, error) {
	q, err := qrcode.New(content, qrcode.Medium)
	if err != nil {
		return nil, fmt.Errorf("tag of %d bytes does not fit a QR code: %w", len(content), err)
	}
	q.DisableBorder = true
	return q.Bitmap(), nil
}

// drawQR draws the code as squares of ink, side mm wide, runs of a row as one.
// The caller leaves four modules of white round it.
func drawQR(p *page, modules [][]bool, x, y, side float64) {
	m := side / float64(len(modules))
	for r, row := range modules {
		for from := 0; from < len(row); from++ {
			to := from
			for to < len(row) && row[to] {
				to++
			}
			if to > from {
				// A hair of overlap closes the seams that viewers show between rows.
				p.rect(x+float64(from)*m, y+float64(r)*m, float64(to-from)*m, m+0.02, 0, black)
				from = to
			}
		}
	}
}

package door

import (
	"strings"
	"testing"
)

// Tiles open the policy for pictures and data of their server, and for nothing else.
func TestTilesInThePolicy(t *testing.T) {
	const tiles = "https://tiles.example"
	with := contentPolicy(tiles)
	if strings.ReplaceAll(with, " "+tiles, "") != contentPolicy("") || strings.Count(with, tiles) != 2 ||
		!strings.Contains(with, "img-src 'self' blob: data: "+tiles+";") || !strings.Contains(with, "connect-src 'self' "+tiles+";") {
		t.Errorf("%q", with)
	}
}

package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
)

// tilesFile is where the app asks what lies under its map.
const tilesFile = "tiles.json"

// Tiles are pictures of a map that somebody serves.
type Tiles struct {
	URL    string `json:"url"` // with {z}, {x} and {y} where zoom, column and row go
	Credit string `json:"credit,omitempty"`
}

// Origin is the server of tiles with such an address, as a content policy names it;
// empty if there are none.
func Origin(tiles string) (string, error) {
	if tiles == "" {
		return "", nil
	}
	u, err := url.Parse(tiles)
	wrong := err != nil || u.Scheme != "https" && u.Scheme != "http" || u.User != nil || u.Host == "" || strings.ContainsAny(u.Host, "*;,'\" {}")
	for _, part := range [...]string{"{z}", "{x}", "{y}"} {
		wrong = wrong || !strings.Contains(tiles, part)
	}
	if wrong {
		return "", fmt.Errorf("%q: want an address with {z}, {x} and {y} in it, such as https://tiles.example/{z}/{x}/{y}.png", tiles)
	}
	return u.Scheme + "://" + u.Host, nil
}

// sendTiles tells the app of the tiles that were set; an empty address where none were.
func (a *App) sendTiles(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", typeOf(tilesFile))
	w.Header().Set("Cache-Control", "no-cache")
	_ = json.NewEncoder(w).Encode(a.tiles) // who went away needs no answer
}

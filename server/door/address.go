package door

import (
	"net/http"
	"net/netip"
	"strings"
)

// address is where a request comes from, as far as limits are concerned: an
// address of version 4, or the /64 of version 6, which is what one subscriber has.
func (d *Door) address(r *http.Request) string {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return "?"
	}
	addr := from.Addr().Unmap()
	// A proxy appends whom it heard to the right. Going left, the first that is
	// not one of ours is the one that ours has seen; what is left of it is hearsay.
	heard := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for i := len(heard) - 1; i >= 0 && d.trusted(addr); i-- {
		before, err := netip.ParseAddr(strings.TrimSpace(heard[i]))
		if err != nil {
			break
		}
		addr = before.Unmap()
	}
	if addr.Is6() {
		net, _ := addr.WithZone("").Prefix(64) // 64 bits fit
		return net.String()
	}
	return addr.String()
}

func (d *Door) trusted(addr netip.Addr) bool {
	for _, p := range d.Proxies {
		if p.Contains(addr) {
			return true
		}
	}
	return false
}

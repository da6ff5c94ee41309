package mem

import (
	"testing"

	"sapwell/store"
	"sapwell/store/storetest"
)

func TestStore(t *testing.T) {
	storetest.Run(t, func(*testing.T) store.Store { return New() })
}

package entries

import "sapwell/journal"

// id is a UUID version 7 told from others by its last byte.
func id(n byte) journal.ID {
	return journal.ID{0x01, 0x9e, 0x5a, 0x10, 0x2b, 0x3c, 0x70, 0x01, 0x80, 0, 0, 0, 0, 0, 0, n}
}

-- What follows from the journal and can be made again from it.
CREATE TABLE view (
	org BYTES NOT NULL,
	kind TEXT NOT NULL,
	id BYTES NOT NULL,
	sort BYTES NOT NULL,     -- to list by
	last BYTES NOT NULL,     -- the place of the last entry folded, as JSON
	speaking BYTES NOT NULL, -- the numbers of all entries that speak of it, packed
	state BYTES NOT NULL,
	PRIMARY KEY (org, kind, id)
) PLAIN;
CREATE INDEX view_list ON view (org, kind, sort, id);

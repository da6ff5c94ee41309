-- What follows from the journal and can be made again from it.

-- Which entries speak of a subject.
CREATE TABLE link (
	org BYTES NOT NULL,
	kind TEXT NOT NULL,
	id BYTES NOT NULL,
	n WHOLE NOT NULL,
	PRIMARY KEY (org, kind, id, n)
) KEYED;

CREATE TABLE view (
	org BYTES NOT NULL,
	kind TEXT NOT NULL,
	id BYTES NOT NULL,
	sort BYTES NOT NULL, -- to list by
	last BYTES NOT NULL, -- the place of the last entry folded, as JSON
	state BYTES NOT NULL,
	PRIMARY KEY (org, kind, id)
) PLAIN;
CREATE INDEX view_list ON view (org, kind, sort, id);

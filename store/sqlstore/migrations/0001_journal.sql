-- BYTES, WHOLE, KEYED and PLAIN are written for each engine as dialect.go says.
-- Every table begins with the organisation, so that it can be split by it.

CREATE TABLE org (
	org BYTES NOT NULL PRIMARY KEY,
	views WHOLE NOT NULL -- version of the fold that made the views
) KEYED;

-- The journal. The receipt of an entry follows from hash, n and received.
CREATE TABLE entry (
	org BYTES NOT NULL,
	n WHOLE NOT NULL,        -- of its receipt, from 0 without a gap
	device BYTES NOT NULL,
	seq WHOLE NOT NULL,
	hash BYTES NOT NULL,     -- SHA-256 of a byte 00 and line
	prev BYTES NOT NULL,     -- hash of the one before in its chain, zeros in the first
	id BYTES NOT NULL,
	held WHOLE NOT NULL,     -- the greatest time of this and all before in its chain
	received WHOLE NOT NULL, -- the office's clock
	line BYTES NOT NULL,     -- the signed bytes, never written again
	PRIMARY KEY (org, n)
) PLAIN;
CREATE UNIQUE INDEX entry_chain ON entry (org, device, seq, hash);
CREATE INDEX entry_id ON entry (org, id, n);

-- Who writes, and the least number that several entries of its chain claim (0: none).
CREATE TABLE device (
	org BYTES NOT NULL REFERENCES org,
	device BYTES NOT NULL,
	pubkey BYTES NOT NULL,
	fork WHOLE NOT NULL,
	PRIMARY KEY (org, device)
) KEYED;

-- Entries that no other names as the one before.
CREATE TABLE tip (
	org BYTES NOT NULL,
	device BYTES NOT NULL,
	seq WHOLE NOT NULL,
	hash BYTES NOT NULL,
	held WHOLE NOT NULL,
	PRIMARY KEY (org, device, seq, hash)
) KEYED;

-- The receipt tree: 256 hashes a row. Those of level 0 are of receipts, those of a
-- higher level are roots of rows of the level below. Only full rows are kept.
CREATE TABLE tile (
	org BYTES NOT NULL,
	level WHOLE NOT NULL,
	i WHOLE NOT NULL,
	root BYTES NOT NULL,
	hashes BYTES NOT NULL,
	PRIMARY KEY (org, level, i)
) PLAIN;

CREATE TABLE head (
	org BYTES NOT NULL REFERENCES org,
	size WHOLE NOT NULL,
	k WHOLE NOT NULL, -- among those of one size, from 0
	line BYTES NOT NULL,
	PRIMARY KEY (org, size, k)
) PLAIN;

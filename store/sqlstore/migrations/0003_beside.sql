-- Lines that may not stand in the journal.
CREATE TABLE aside (
	org BYTES NOT NULL REFERENCES org,
	device BYTES NOT NULL,
	seq WHOLE NOT NULL,
	hash BYTES NOT NULL,
	line BYTES NOT NULL,
	why TEXT NOT NULL,
	time WHOLE NOT NULL,
	PRIMARY KEY (org, device, seq, hash)
) PLAIN;

CREATE TABLE blob (
	org BYTES NOT NULL REFERENCES org,
	sum BYTES NOT NULL, -- SHA-256 of data
	made WHOLE NOT NULL,
	data BYTES NOT NULL,
	PRIMARY KEY (org, sum)
) PLAIN;

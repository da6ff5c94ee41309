-- Who may come in. Found before it is known of which organisation, so keyed by
-- what the door is shown.

CREATE TABLE account (
	id TEXT NOT NULL PRIMARY KEY,
	org BYTES NOT NULL,
	person BYTES NOT NULL,
	login TEXT NOT NULL UNIQUE,
	password TEXT NOT NULL,
	disabled WHOLE NOT NULL, -- 0 or 1
	made WHOLE NOT NULL
) PLAIN;
CREATE INDEX account_org ON account (org, login);

CREATE TABLE passkey (
	id BYTES NOT NULL PRIMARY KEY,
	account TEXT NOT NULL,
	name TEXT NOT NULL,
	data BYTES NOT NULL,
	made WHOLE NOT NULL,
	used WHOLE NOT NULL
) PLAIN;
CREATE INDEX passkey_account ON passkey (account, id);

CREATE TABLE session (
	token BYTES NOT NULL PRIMARY KEY, -- SHA-256 of it
	org BYTES NOT NULL,
	person BYTES NOT NULL,
	account TEXT NOT NULL,
	device BYTES NOT NULL,
	made WHOLE NOT NULL,
	until WHOLE NOT NULL,
	seen WHOLE NOT NULL
) PLAIN;
CREATE INDEX session_person ON session (person);
CREATE INDEX session_device ON session (device);

CREATE TABLE invite (
	secret BYTES NOT NULL PRIMARY KEY, -- SHA-256 of it
	org BYTES NOT NULL,
	person BYTES NOT NULL,
	sort TEXT NOT NULL,
	until WHOLE NOT NULL
) PLAIN;

CREATE TABLE signkey (
	org BYTES NOT NULL PRIMARY KEY,
	private BYTES NOT NULL
) PLAIN;

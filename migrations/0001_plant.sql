-- The plant's test book, as it stands from the first release.
-- Keys are UUIDv7 text made by the server. Times (_at) are UTC milliseconds since 1970; dates (_on) are 'YYYY-MM-DD'.
-- version counts the edits of a row (ETag). Documents (_json) are JSON text whose shape docs/api.md gives.

CREATE TABLE setting (
	key TEXT PRIMARY KEY,			-- 'plant_name', 'plant_address', 'certificate_prefix', 'paper', 'demo', ...
	value TEXT NOT NULL,
	updated_at INTEGER NOT NULL
) STRICT;

CREATE TABLE counter (				-- last number given out in a numbered series
	series TEXT PRIMARY KEY,		-- 'record-2026', 'certificate-2026'
	last INTEGER NOT NULL CHECK (last >= 0)
) STRICT;

CREATE TABLE person (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	sign_in TEXT NOT NULL CHECK (sign_in = lower(sign_in) AND length(sign_in) BETWEEN 2 AND 40),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),	-- as printed on certificates
	roles INTEGER NOT NULL CHECK (roles BETWEEN 1 AND 15),	-- 1 technician, 2 lead, 4 auditor, 8 administrator, added up
	password_hash TEXT NOT NULL,		-- Argon2id, with its own parameters and salt
	active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0, 1)),
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX person_by_sign_in ON person (sign_in);

CREATE TABLE session (
	id TEXT PRIMARY KEY,			-- SHA-256 of the cookie's token: the file alone lets nobody in
	person_id TEXT NOT NULL REFERENCES person (id),
	token TEXT NOT NULL,			-- what a page sends back in X-Session-Token
	created_at INTEGER NOT NULL,
	seen_at INTEGER NOT NULL,		-- idle limit counts from here
	expires_at INTEGER NOT NULL,		-- absolute limit
	remote TEXT				-- address it was opened from
) STRICT;
CREATE INDEX session_by_person ON session (person_id);

CREATE TABLE sign_in_failure (			-- for throttling; rows older than the window are removed
	key TEXT NOT NULL,			-- 'name:…' or 'from:…'
	at INTEGER NOT NULL
) STRICT;
CREATE INDEX sign_in_failure_by_key ON sign_in_failure (key, at);

CREATE TABLE api_token (
	id TEXT PRIMARY KEY,			-- SHA-256 of the token
	person_id TEXT NOT NULL REFERENCES person (id),
	label TEXT NOT NULL,
	created_at INTEGER NOT NULL,
	expires_at INTEGER NOT NULL,
	revoked_at INTEGER
) STRICT;

CREATE TABLE idempotency (			-- answers given to writes that carried an Idempotency-Key
	key TEXT NOT NULL,
	person_id TEXT NOT NULL,
	request_hash TEXT NOT NULL,		-- SHA-256 over method, path and body
	http_status INTEGER NOT NULL,
	answer_json TEXT NOT NULL,
	created_at INTEGER NOT NULL,
	PRIMARY KEY (person_id, key)
) STRICT;
CREATE INDEX idempotency_by_time ON idempotency (created_at);

CREATE TABLE area (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	parent_id TEXT REFERENCES area (id),
	position INTEGER NOT NULL DEFAULT 0,	-- order on a round
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX area_by_name ON area (coalesce(parent_id, ''), lower(name));

CREATE TABLE instrument (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	tag TEXT NOT NULL CHECK (length(tag) BETWEEN 1 AND 40),	-- as in ISA-5.1, unique regardless of case
	service TEXT NOT NULL,			-- what it does, in words
	kind TEXT NOT NULL CHECK (kind IN ('transmitter', 'sensing_element', 'indicator', 'switch', 'analyser', 'control_valve')),
	area_id TEXT NOT NULL REFERENCES area (id),
	location TEXT,				-- where it hangs
	maker TEXT, model TEXT, serial TEXT,
	input_quantity TEXT NOT NULL, input_low REAL NOT NULL, input_high REAL NOT NULL, input_unit TEXT NOT NULL,
	output_quantity TEXT NOT NULL, output_low REAL NOT NULL, output_high REAL NOT NULL, output_unit TEXT NOT NULL,
	characteristic_json TEXT NOT NULL,
	supply_v REAL CHECK (supply_v > 0),	-- loop supply, V; NULL when there is no current loop
	device_v REAL CHECK (device_v >= 0),	-- voltage the device needs at 20 mA, V
	series_ohm REAL CHECK (series_ohm >= 0),	-- resistor for the HART modem, ohm
	cable_ohm REAL CHECK (cable_ohm >= 0),	-- both conductors, ohm
	hart INTEGER NOT NULL DEFAULT 0 CHECK (hart IN (0, 1)),
	set_point REAL,				-- where a switch acts, in the input's unit; NULL for what is no switch
	reset_point REAL,			-- where it goes back; NULL: wherever its dead band puts it
	acts_on TEXT CHECK (acts_on IN ('rising', 'falling')),
	dead_band_low REAL CHECK (dead_band_low >= 0),	-- allowed, in the input's unit; NULL: no limit
	dead_band_high REAL CHECK (dead_band_high >= dead_band_low),
	hazards_json TEXT NOT NULL DEFAULT '[]',	-- cautions of this very instrument, texts
	status TEXT NOT NULL DEFAULT 'in_service' CHECK (status IN ('in_service', 'out_of_service', 'retired')),
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL,
	CHECK (input_low <> input_high),
	CHECK (output_low <> output_high),
	CHECK ((set_point IS NULL) = (acts_on IS NULL))
) STRICT;
CREATE UNIQUE INDEX instrument_by_tag ON instrument (lower(tag));
CREATE INDEX instrument_by_area ON instrument (area_id);

CREATE TABLE tolerance_rule (			-- rules that procedures start from
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	name TEXT NOT NULL,
	rule_json TEXT NOT NULL,		-- {terms, join}
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX tolerance_rule_by_name ON tolerance_rule (lower(name));

CREATE TABLE procedure (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 20),
	created_at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX procedure_by_code ON procedure (lower(code));

CREATE TABLE procedure_version (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	procedure_id TEXT NOT NULL REFERENCES procedure (id),
	number INTEGER NOT NULL CHECK (number >= 1),
	state TEXT NOT NULL CHECK (state IN ('draft', 'approved', 'superseded')),
	title TEXT NOT NULL,			-- of the document, for lists
	document_json TEXT NOT NULL,
	version INTEGER NOT NULL DEFAULT 1,	-- edits of the draft
	created_by TEXT NOT NULL REFERENCES person (id),
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL,
	approved_by TEXT REFERENCES person (id),
	approved_at INTEGER,
	UNIQUE (procedure_id, number),
	CHECK (state = 'draft' OR approved_by IS NOT NULL)
) STRICT;
CREATE UNIQUE INDEX procedure_one_draft ON procedure_version (procedure_id) WHERE state = 'draft';
CREATE UNIQUE INDEX procedure_one_approved ON procedure_version (procedure_id) WHERE state = 'approved';

CREATE TABLE schedule (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	instrument_id TEXT NOT NULL REFERENCES instrument (id),
	procedure_id TEXT NOT NULL REFERENCES procedure (id),
	interval_months INTEGER NOT NULL CHECK (interval_months BETWEEN 1 AND 120),
	due_on TEXT NOT NULL,
	assigned_to TEXT REFERENCES person (id),
	evidence TEXT NOT NULL DEFAULT '',	-- what the interval rests on, in words
	active INTEGER NOT NULL DEFAULT 1 CHECK (active IN (0, 1)),
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL,
	UNIQUE (instrument_id, procedure_id)
) STRICT;
CREATE INDEX schedule_by_due ON schedule (active, due_on);

CREATE TABLE standard (				-- reference standards
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 20),
	name TEXT NOT NULL,
	quantity TEXT NOT NULL,
	maker TEXT, model TEXT, serial TEXT,
	status TEXT NOT NULL DEFAULT 'in_use' CHECK (status IN ('in_use', 'out_of_use', 'failed')),
	status_reason TEXT,
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX standard_by_code ON standard (lower(code));

CREATE TABLE standard_calibration (		-- certificates of a reference standard; never edited
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	standard_id TEXT NOT NULL REFERENCES standard (id),
	certificate_number TEXT NOT NULL,
	issued_by TEXT NOT NULL,
	calibrated_on TEXT NOT NULL,
	valid_until TEXT NOT NULL,
	low REAL NOT NULL, high REAL NOT NULL, unit TEXT NOT NULL,
	expanded_uncertainty REAL NOT NULL CHECK (expanded_uncertainty > 0),	-- U, in unit
	coverage_factor REAL NOT NULL CHECK (coverage_factor BETWEEN 1 AND 10),	-- k
	traceability TEXT NOT NULL,		-- to what the values are traceable, in words
	created_at INTEGER NOT NULL,
	CHECK (low < high),
	CHECK (valid_until > calibrated_on),
	UNIQUE (standard_id, certificate_number)
) STRICT;

CREATE TABLE test_record (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	number TEXT NOT NULL UNIQUE,		-- 'R-2026-00017'
	instrument_id TEXT NOT NULL REFERENCES instrument (id),
	procedure_version_id TEXT NOT NULL REFERENCES procedure_version (id),
	schedule_id TEXT REFERENCES schedule (id),
	state TEXT NOT NULL CHECK (state IN ('open', 'performed', 'reviewed', 'certified', 'returned', 'void')),
	instrument_json TEXT NOT NULL,		-- the instrument as it was, frozen
	procedure_json TEXT NOT NULL,		-- the procedure version as it was, frozen
	condition TEXT NOT NULL DEFAULT '',	-- of the instrument as received
	remarks TEXT NOT NULL DEFAULT '',
	adjusted INTEGER CHECK (adjusted IN (0, 1)),	-- NULL until decided
	adjustment TEXT NOT NULL DEFAULT '',	-- what was done
	adjusted_by TEXT REFERENCES person (id),
	adjusted_at INTEGER,
	verdict_as_found TEXT CHECK (verdict_as_found IN ('pass', 'conditional_pass', 'conditional_fail', 'fail', 'not_judged')),
	verdict_as_left TEXT CHECK (verdict_as_left IN ('pass', 'conditional_pass', 'conditional_fail', 'fail', 'not_judged')),
	worst_as_found REAL,			-- largest |error|, % of span
	worst_as_left REAL,
	content_sha256 TEXT,			-- of what was shown at the first signature
	supersedes_id TEXT REFERENCES test_record (id),	-- of an amendment: the certified record that it corrects
	amendment_reason TEXT NOT NULL DEFAULT '',
	version INTEGER NOT NULL DEFAULT 1,
	opened_by TEXT NOT NULL REFERENCES person (id),
	opened_at INTEGER NOT NULL,
	performed_at INTEGER,
	closed_at INTEGER
) STRICT;
CREATE INDEX test_record_by_instrument ON test_record (instrument_id, opened_at, id);
CREATE INDEX test_record_by_state ON test_record (state, opened_at, id);
CREATE INDEX test_record_by_time ON test_record (opened_at, id);
CREATE UNIQUE INDEX test_record_one_amendment ON test_record (supersedes_id) WHERE supersedes_id IS NOT NULL AND state <> 'void';
CREATE UNIQUE INDEX test_record_one_open ON test_record (schedule_id) WHERE state IN ('open', 'returned');

CREATE TABLE acknowledgement (			-- cautions read and checks answered
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	kind TEXT NOT NULL CHECK (kind IN ('caution', 'check')),
	key TEXT NOT NULL,			-- id of the caution or check in the frozen procedure
	answer TEXT NOT NULL CHECK (answer IN ('acknowledged', 'yes', 'no', 'not_applicable')),
	observed TEXT,				-- what was seen or read, as typed
	note TEXT,
	person_id TEXT NOT NULL REFERENCES person (id),
	at INTEGER NOT NULL,
	UNIQUE (test_record_id, kind, key)
) STRICT;

CREATE TABLE run (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	kind TEXT NOT NULL CHECK (kind IN ('as_found', 'as_left')),
	attempt INTEGER NOT NULL DEFAULT 1 CHECK (attempt >= 1),	-- a repeated as-left run gets the next number; the last counts
	started_at INTEGER NOT NULL,
	started_by TEXT NOT NULL REFERENCES person (id),
	UNIQUE (test_record_id, kind, attempt)
) STRICT;

CREATE TABLE reading (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	run_id TEXT NOT NULL REFERENCES run (id),
	point INTEGER NOT NULL CHECK (point >= 0),	-- place in the run's list of points
	set_point REAL NOT NULL,		-- nominal input, in the input's unit
	direction TEXT NOT NULL CHECK (direction IN ('rising', 'falling')),
	cycle INTEGER NOT NULL CHECK (cycle >= 1),
	applied REAL NOT NULL,			-- input as the reference shows it
	applied_text TEXT NOT NULL,		-- as typed, with its trailing zeros
	observed REAL NOT NULL,			-- output, in the output's unit
	observed_text TEXT NOT NULL,
	taken_at INTEGER NOT NULL,		-- by the device's clock
	received_at INTEGER NOT NULL,
	person_id TEXT NOT NULL REFERENCES person (id),
	undone_at INTEGER,			-- taken back by the technician; the row stays
	client_verdict TEXT,			-- what the browser's own core said, NULL without
	input_u REAL CHECK (input_u >= 0),	-- standard uncertainty of a mean read from a device; NULL: typed
	output_u REAL CHECK (output_u >= 0),
	captured_json TEXT			-- which devices said what over which time; NULL: typed
) STRICT;
CREATE UNIQUE INDEX reading_one_valid ON reading (run_id, point) WHERE undone_at IS NULL;

CREATE TABLE dead_band (			-- how far the input goes after a reversal before the output moves
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	run_id TEXT NOT NULL REFERENCES run (id),
	place INTEGER NOT NULL CHECK (place >= 0),	-- in the procedure's list of places
	rising REAL NOT NULL,			-- input that moved the output while rising, in the input's unit
	rising_text TEXT NOT NULL,		-- as typed
	falling REAL NOT NULL,			-- input that moved it back while falling
	falling_text TEXT NOT NULL,
	person_id TEXT NOT NULL REFERENCES person (id),
	at INTEGER NOT NULL,
	UNIQUE (run_id, place)			-- one taken again replaces it; the ledger keeps what was there
) STRICT;

CREATE TABLE channel (				-- what an input or output is read from, and what may drive it
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	instrument_id TEXT REFERENCES instrument (id),
	standard_id TEXT REFERENCES standard (id),
	side TEXT NOT NULL CHECK (side IN ('input', 'output')),	-- of the instrument; of a standard, output: it gives, input: it reads
	source_json TEXT NOT NULL,		-- protocol, address, what is read there, what may be driven
	period_ms INTEGER NOT NULL CHECK (period_ms BETWEEN 100 AND 60000),
	device_id TEXT,				-- what the device called itself when somebody said that it is the right one
	device_tag TEXT,
	version INTEGER NOT NULL,
	created_at INTEGER NOT NULL,
	updated_at INTEGER NOT NULL,
	CHECK ((instrument_id IS NULL) <> (standard_id IS NULL))
) STRICT;
CREATE UNIQUE INDEX channel_of_instrument ON channel (instrument_id, side) WHERE instrument_id IS NOT NULL;
CREATE UNIQUE INDEX channel_of_standard ON channel (standard_id, side) WHERE standard_id IS NOT NULL;

CREATE TABLE driven (				-- outputs that the program drives right now: found at start, they are made safe
	channel_id TEXT PRIMARY KEY REFERENCES channel (id),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	person_id TEXT NOT NULL REFERENCES person (id),
	since INTEGER NOT NULL
) STRICT;

CREATE TABLE trace (				-- a channel recorded against time beside a run
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	run_id TEXT NOT NULL REFERENCES run (id),
	channel TEXT NOT NULL,
	unit TEXT NOT NULL,
	started_at INTEGER NOT NULL,
	samples BLOB NOT NULL			-- pairs of float64: seconds since started_at, value
) STRICT;

CREATE TABLE standard_use (			-- which reference standard a test relied on, as it was then
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	role TEXT NOT NULL CHECK (role IN ('input', 'output')),
	standard_id TEXT NOT NULL REFERENCES standard (id),
	calibration_id TEXT NOT NULL REFERENCES standard_calibration (id),
	standard_json TEXT NOT NULL,		-- frozen
	at INTEGER NOT NULL,
	UNIQUE (test_record_id, role)
) STRICT;
CREATE INDEX standard_use_by_standard ON standard_use (standard_id);

CREATE TABLE environment (
	test_record_id TEXT PRIMARY KEY REFERENCES test_record (id),
	temperature_c REAL NOT NULL,
	humidity_percent REAL,
	pressure_hpa REAL,
	at INTEGER NOT NULL
) STRICT;

CREATE TABLE attachment (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT REFERENCES test_record (id),
	standard_calibration_id TEXT REFERENCES standard_calibration (id),
	file_name TEXT NOT NULL,
	media_type TEXT NOT NULL,
	sha256 TEXT NOT NULL,
	bytes BLOB NOT NULL,
	person_id TEXT NOT NULL REFERENCES person (id),
	at INTEGER NOT NULL
) STRICT;

CREATE TABLE signature (			-- a person's; never edited or removed
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT REFERENCES test_record (id),
	procedure_version_id TEXT REFERENCES procedure_version (id),
	finding_id TEXT REFERENCES finding (id),
	meaning TEXT NOT NULL CHECK (meaning IN ('performed', 'reviewed', 'approved', 'returned', 'voided', 'closed')),
	person_id TEXT NOT NULL REFERENCES person (id),
	name TEXT NOT NULL,			-- as printed then
	role TEXT NOT NULL,			-- in which role
	reason TEXT NOT NULL DEFAULT '',	-- of a return or a void
	content_sha256 TEXT NOT NULL,		-- of exactly what was shown
	at INTEGER NOT NULL,
	CHECK ((test_record_id IS NOT NULL) + (procedure_version_id IS NOT NULL) + (finding_id IS NOT NULL) = 1)
) STRICT;
CREATE INDEX signature_by_record ON signature (test_record_id);

CREATE TABLE certificate (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	number TEXT NOT NULL UNIQUE,		-- 'BWW-2026-0017'
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	issued_by TEXT NOT NULL REFERENCES person (id),
	issued_at INTEGER NOT NULL,		-- of the reservation while it is being prepared
	sealed INTEGER NOT NULL DEFAULT 0 CHECK (sealed IN (0, 1)),
	pdf_sha256 TEXT,			-- of the sealed files; NULL without a seal
	xml_sha256 TEXT,
	state TEXT NOT NULL CHECK (state IN ('preparing', 'current', 'amended', 'void')),
	reason TEXT NOT NULL DEFAULT '',	-- why it was amended or made void
	replaced_by TEXT			-- number of the certificate that amends it
) STRICT;
CREATE INDEX certificate_by_record ON certificate (test_record_id);
CREATE INDEX certificate_by_pdf ON certificate (pdf_sha256);
CREATE INDEX certificate_by_xml ON certificate (xml_sha256);

CREATE TABLE certificate_file (			-- the sealed files as they were issued; never drawn again
	number TEXT PRIMARY KEY REFERENCES certificate (number),
	paper TEXT NOT NULL CHECK (paper IN ('a4', 'letter')),
	pdf BLOB NOT NULL,
	xml BLOB NOT NULL
) STRICT;
CREATE TRIGGER certificate_file_stays BEFORE UPDATE ON certificate_file BEGIN SELECT raise(ABORT, 'issued files never change'); END;
CREATE TRIGGER certificate_file_remains BEFORE DELETE ON certificate_file BEGIN SELECT raise(ABORT, 'issued files are never removed'); END;

CREATE TABLE limitation (			-- what an instrument may be used for only, as its label says; the newest holds
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	text TEXT NOT NULL CHECK (length(text) BETWEEN 1 AND 120),
	person_id TEXT NOT NULL REFERENCES person (id),
	at INTEGER NOT NULL
) STRICT;
CREATE INDEX limitation_by_record ON limitation (test_record_id, at);

CREATE TABLE finding (				-- an out-of-tolerance case
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	test_record_id TEXT NOT NULL REFERENCES test_record (id),
	run_kind TEXT NOT NULL CHECK (run_kind IN ('as_found', 'as_left')),
	sentence TEXT NOT NULL,			-- what was found
	state TEXT NOT NULL DEFAULT 'open' CHECK (state IN ('open', 'closed')),
	disposition TEXT NOT NULL DEFAULT '',
	opened_at INTEGER NOT NULL,
	closed_at INTEGER,
	closed_by TEXT REFERENCES person (id),
	version INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE INDEX finding_by_state ON finding (state, opened_at);
CREATE INDEX finding_by_record ON finding (test_record_id);

CREATE TABLE finding_impact (			-- what an out-of-tolerance instrument or standard has touched
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	finding_id TEXT NOT NULL REFERENCES finding (id),
	test_record_id TEXT REFERENCES test_record (id),
	sentence TEXT NOT NULL
) STRICT;

CREATE TABLE round (
	id TEXT PRIMARY KEY CHECK (length(id) = 36),
	name TEXT NOT NULL,
	person_id TEXT NOT NULL REFERENCES person (id),
	planned_on TEXT NOT NULL,
	schedules_json TEXT NOT NULL DEFAULT '[]',
	version INTEGER NOT NULL DEFAULT 1,
	created_at INTEGER NOT NULL
) STRICT;

CREATE TABLE ledger_entry (			-- append-only, hash-chained
	number INTEGER PRIMARY KEY CHECK (number >= 1),
	at INTEGER NOT NULL,
	person_id TEXT,				-- NULL: the program itself
	person_name TEXT NOT NULL,
	action TEXT NOT NULL,			-- 'add', 'change', 'sign', ...
	thing TEXT NOT NULL,			-- table name
	thing_id TEXT NOT NULL,
	label TEXT NOT NULL,			-- tag, number or code, for people
	reason TEXT NOT NULL DEFAULT '',
	before_json TEXT,			-- canonical JSON (RFC 8785)
	after_json TEXT,
	previous_hash TEXT NOT NULL,		-- of the entry before; 64 zeros at the first
	hash TEXT NOT NULL			-- SHA-256 over previous_hash and the entry's canonical JSON
) STRICT;
CREATE TABLE ledger_head (			-- the newest entry, under a key that is not in this file
	one INTEGER PRIMARY KEY CHECK (one = 1),
	number INTEGER NOT NULL,		-- 0 before the first
	hash TEXT NOT NULL,
	mac TEXT NOT NULL			-- HMAC-SHA256 of number and hash; empty in a plant without a key
) STRICT;
INSERT INTO ledger_head (one, number, hash, mac)
	VALUES (1, 0, '0000000000000000000000000000000000000000000000000000000000000000', '');

CREATE TABLE ledger_checkpoint (		-- what the ledger was at some time, under the plant's seal
	number INTEGER PRIMARY KEY,		-- of the newest entry then
	hash TEXT NOT NULL,
	at INTEGER NOT NULL,
	cause TEXT NOT NULL CHECK (cause IN ('day', 'certificate', 'request')),
	signature TEXT NOT NULL,		-- base64, over the canonical JSON of at, cause, hash and number
	seal_certificate TEXT NOT NULL		-- PEM
) STRICT;

CREATE INDEX ledger_entry_by_thing ON ledger_entry (thing, thing_id, number);
CREATE TRIGGER ledger_entry_stays BEFORE UPDATE ON ledger_entry BEGIN SELECT raise(ABORT, 'ledger entries never change'); END;
CREATE TRIGGER ledger_entry_remains BEFORE DELETE ON ledger_entry BEGIN SELECT raise(ABORT, 'ledger entries are never removed'); END;
CREATE TRIGGER signature_stays BEFORE UPDATE ON signature BEGIN SELECT raise(ABORT, 'signatures never change'); END;
CREATE TRIGGER signature_remains BEFORE DELETE ON signature BEGIN SELECT raise(ABORT, 'signatures are never removed'); END;

-- Schema 2: recorders and their files, races, drills and quiz answers.

CREATE TABLE recorder (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  mark TEXT NOT NULL,
  words TEXT NOT NULL
) STRICT;

CREATE TABLE recorder_given (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  recorder TEXT NOT NULL REFERENCES recorder (id),
  sailor TEXT NOT NULL REFERENCES sailor (id),
  at TEXT NOT NULL
) STRICT;
CREATE INDEX recorder_given_sailor ON recorder_given (sailor);

-- A recorder's file as it came, once however often it is brought.
CREATE TABLE track_bytes (
  sha256 TEXT NOT NULL PRIMARY KEY,
  bytes BLOB NOT NULL
) STRICT;

CREATE TABLE track_file (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  name TEXT NOT NULL,
  sha256 TEXT NOT NULL REFERENCES track_bytes (sha256),
  at TEXT NOT NULL,
  outing TEXT REFERENCES outing (id),
  sailor TEXT REFERENCES sailor (id),
  recorder TEXT REFERENCES recorder (id)
) STRICT;
CREATE INDEX track_file_outing ON track_file (outing);
CREATE INDEX track_file_sailor ON track_file (sailor);
CREATE INDEX track_file_bytes ON track_file (sha256);

CREATE TABLE series (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  name TEXT NOT NULL,
  series_text TEXT NOT NULL,
  results_text TEXT NOT NULL,
  day TEXT REFERENCES day (id)
) STRICT;

CREATE TABLE drill_done (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  outing TEXT NOT NULL REFERENCES outing (id),
  at TEXT NOT NULL,
  drill TEXT NOT NULL,
  minutes REAL,
  words TEXT NOT NULL
) STRICT;
CREATE INDEX drill_done_outing ON drill_done (outing);

CREATE TABLE quiz_answer (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  sailor TEXT NOT NULL REFERENCES sailor (id),
  at TEXT NOT NULL,
  question TEXT NOT NULL,
  answer TEXT NOT NULL,
  correct INTEGER NOT NULL
) STRICT;
CREATE INDEX quiz_answer_sailor ON quiz_answer (sailor);

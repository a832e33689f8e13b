-- Schema 4: how many sailors the club lets a safety boat look after.

CREATE TABLE safety_limit (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  sailors REAL NOT NULL,
  decided_by TEXT NOT NULL
) STRICT;

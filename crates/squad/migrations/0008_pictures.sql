-- Schema 8: pictures from the coach boat; their bytes stand with those of recorders' files, once however often they are brought.

CREATE TABLE picture (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  outing TEXT NOT NULL REFERENCES outing (id),
  name TEXT NOT NULL,
  sha256 TEXT NOT NULL REFERENCES track_bytes (sha256),
  at TEXT NOT NULL,
  camera_clock TEXT,
  ahead_s REAL,
  shown_to TEXT REFERENCES sailor (id)
) STRICT;
CREATE INDEX picture_outing ON picture (outing);
CREATE INDEX picture_bytes ON picture (sha256);
CREATE INDEX picture_shown_to ON picture (shown_to);

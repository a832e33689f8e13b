-- Schema 3: the course of a race day.

CREATE TABLE course (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  buoys_text TEXT NOT NULL,
  sketch TEXT,
  axis_rad REAL,
  beat_m REAL NOT NULL,
  line_m REAL NOT NULL,
  with_gate INTEGER NOT NULL,
  with_offset INTEGER NOT NULL,
  place TEXT NOT NULL,
  kind_text TEXT,
  laps INTEGER,
  order_text TEXT NOT NULL,
  starboard INTEGER NOT NULL,
  wind_from_rad REAL,
  wind_ms REAL,
  wind_height_m REAL,
  shift_rad REAL NOT NULL,
  current_toward_rad REAL,
  current_ms REAL NOT NULL,
  practice_signals INTEGER NOT NULL
) STRICT;
CREATE INDEX course_day ON course (day);

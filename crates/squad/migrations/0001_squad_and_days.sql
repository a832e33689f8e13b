-- Schema 1: sailors, boats, days and what happens on them. Never edited once released: a change is a new file.
-- Each kind of fact has the same six columns first: id (128 random bits), version (counts edits), state (64 random bits, new
-- with every edit, by which two stores know whose edit came first), when and by whom, and whether it was withdrawn.
-- SI units in the columns' names; times UTC, RFC 3339 with milliseconds; a flag is 0 or 1.

CREATE TABLE class (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  name TEXT NOT NULL,
  text TEXT NOT NULL,
  sha256 TEXT NOT NULL
) STRICT;

CREATE TABLE boat (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  label TEXT NOT NULL,
  class TEXT
) STRICT;

CREATE TABLE sailor (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  label TEXT NOT NULL,
  name TEXT,
  mass_kg REAL,
  stature_m REAL,
  hand_m REAL,
  skill TEXT NOT NULL,
  sail TEXT,
  boat TEXT REFERENCES boat (id)
) STRICT;

CREATE TABLE weigh_in (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  on_scale TEXT NOT NULL,
  reading_kg REAL NOT NULL,
  trolley_kg REAL,
  water_kg REAL NOT NULL,
  correctors_kg REAL NOT NULL,
  scale_error_kg REAL
) STRICT;
CREATE INDEX weigh_in_boat ON weigh_in (boat);

CREATE TABLE pen_line (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  gauge TEXT NOT NULL,
  words TEXT NOT NULL,
  setting REAL NOT NULL
) STRICT;
CREATE INDEX pen_line_boat ON pen_line (boat);

CREATE TABLE notch_height (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  notch INTEGER NOT NULL,
  height_m REAL NOT NULL
) STRICT;
CREATE INDEX notch_height_boat ON notch_height (boat);

CREATE TABLE base_setting (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  gauge TEXT NOT NULL,
  setting REAL NOT NULL
) STRICT;
CREATE INDEX base_setting_boat ON base_setting (boat);

CREATE TABLE reading (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  gauge TEXT NOT NULL,
  setting REAL NOT NULL,
  measured_by TEXT NOT NULL
) STRICT;
CREATE INDEX reading_boat ON reading (boat);

CREATE TABLE day (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  date TEXT NOT NULL,
  venue TEXT NOT NULL,
  timezone TEXT NOT NULL,
  warning_signal TEXT,
  water TEXT NOT NULL,
  water_temperature_k REAL,
  sheltered INTEGER NOT NULL,
  chop_m REAL NOT NULL,
  gusts REAL,
  offshore INTEGER,
  against_tide INTEGER,
  thunder INTEGER,
  safety_boats INTEGER,
  words TEXT NOT NULL
) STRICT;
CREATE INDEX day_date ON day (date);

CREATE TABLE forecast_hour (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  at TEXT NOT NULL,
  wind_ms REAL NOT NULL,
  height_m REAL NOT NULL,
  from_rad REAL,
  gust_ms REAL,
  source TEXT NOT NULL
) STRICT;
CREATE INDEX forecast_hour_day ON forecast_hour (day);

CREATE TABLE gust_limit (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  class TEXT NOT NULL,
  skill TEXT NOT NULL,
  gust_ms REAL NOT NULL,
  decided_by TEXT NOT NULL
) STRICT;

CREATE TABLE crew (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  sailor TEXT NOT NULL REFERENCES sailor (id),
  boat TEXT NOT NULL REFERENCES boat (id),
  launch_order INTEGER
) STRICT;
CREATE INDEX crew_day ON crew (day);
CREATE INDEX crew_sailor ON crew (sailor);

CREATE TABLE setup_given (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  sailor TEXT NOT NULL REFERENCES sailor (id),
  boat TEXT NOT NULL REFERENCES boat (id),
  at TEXT NOT NULL,
  leg TEXT NOT NULL,
  sit TEXT NOT NULL,
  wind_ms REAL NOT NULL,
  height_m REAL NOT NULL,
  settings TEXT NOT NULL
) STRICT;
CREATE INDEX setup_given_day ON setup_given (day);
CREATE INDEX setup_given_sailor ON setup_given (sailor);

CREATE TABLE outing (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  name TEXT NOT NULL,
  sort TEXT NOT NULL,
  began TEXT,
  ended TEXT
) STRICT;
CREATE INDEX outing_day ON outing (day);

CREATE TABLE tally (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  outing TEXT NOT NULL REFERENCES outing (id),
  sailor TEXT NOT NULL REFERENCES sailor (id),
  at TEXT NOT NULL,
  way TEXT NOT NULL,
  safety_boat TEXT NOT NULL
) STRICT;
CREATE INDEX tally_outing ON tally (outing);
CREATE INDEX tally_sailor ON tally (sailor);

CREATE TABLE observation (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  outing TEXT NOT NULL REFERENCES outing (id),
  sailor TEXT REFERENCES sailor (id),
  at TEXT NOT NULL,
  what TEXT NOT NULL,
  words TEXT NOT NULL
) STRICT;
CREATE INDEX observation_outing ON observation (outing);
CREATE INDEX observation_sailor ON observation (sailor);

CREATE TABLE note (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  at TEXT NOT NULL,
  words TEXT NOT NULL,
  sailor TEXT REFERENCES sailor (id),
  boat TEXT REFERENCES boat (id),
  outing TEXT REFERENCES outing (id)
) STRICT;
CREATE INDEX note_sailor ON note (sailor);

CREATE TABLE tick (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  day TEXT NOT NULL REFERENCES day (id),
  sailor TEXT REFERENCES sailor (id),
  boat TEXT REFERENCES boat (id),
  at TEXT NOT NULL,
  item TEXT NOT NULL
) STRICT;
CREATE INDEX tick_day ON tick (day);
CREATE INDEX tick_sailor ON tick (sailor);

-- What a fact was before its last edits: nothing written is lost, and two stores can tell whose edit came first.
CREATE TABLE former (
  kind TEXT NOT NULL,
  fact TEXT NOT NULL,
  state TEXT NOT NULL,
  version INTEGER NOT NULL,
  body TEXT NOT NULL,
  PRIMARY KEY (kind, fact, state)
) STRICT;

-- Facts that two stores edited apart: what was kept, what was not, and whether a person has settled it.
CREATE TABLE conflict (
  id TEXT NOT NULL PRIMARY KEY,
  kind TEXT NOT NULL,
  fact TEXT NOT NULL,
  kept TEXT NOT NULL,
  other TEXT NOT NULL,
  settled INTEGER NOT NULL
) STRICT;

-- Random ids of forgotten sailors, so that a merge does not bring them back. No name stands here.
CREATE TABLE forgotten (
  id TEXT NOT NULL PRIMARY KEY
) STRICT;

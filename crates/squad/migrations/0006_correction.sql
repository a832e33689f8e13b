-- Schema of corrections: multipliers of the model that the coach took over from the squad's own passes.

CREATE TABLE correction (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  at TEXT NOT NULL,
  multipliers TEXT NOT NULL,
  words TEXT NOT NULL
) STRICT;

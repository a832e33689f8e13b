-- Links by which a sailor's own phone reaches that sailor's card, checklist and quiz: of each only its hash is kept.

CREATE TABLE sailor_link (
  id TEXT NOT NULL PRIMARY KEY, version INTEGER NOT NULL, state TEXT NOT NULL, edited_at TEXT NOT NULL, edited_by TEXT NOT NULL, withdrawn INTEGER NOT NULL,
  sailor TEXT NOT NULL REFERENCES sailor (id),
  at TEXT NOT NULL,
  sha256 TEXT NOT NULL
) STRICT;
CREATE INDEX sailor_link_sailor ON sailor_link (sailor);
CREATE INDEX sailor_link_hash ON sailor_link (sha256);

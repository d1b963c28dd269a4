-- Version 7: tags on objects.

-- tags: a new table.
CREATE TABLE tags (
  object       TEXT NOT NULL,
  number       INTEGER NOT NULL CHECK (number >= 1),
  kind         TEXT NOT NULL CHECK (kind = 'tag' OR kind = 'label'),
  audience     TEXT NOT NULL CHECK (audience = 'public' OR audience = 'staff'),
  says_sha256  TEXT NOT NULL CHECK (length(says_sha256) = 64),
  address      TEXT,
  told_on      TEXT NOT NULL CHECK (told_on <> ''),
  hangs_at     TEXT NOT NULL CHECK (trim(hangs_at) <> ''),
  hung_by      TEXT NOT NULL CHECK (trim(hung_by) <> ''),
  hung_on      TEXT NOT NULL CHECK (hung_on <> ''),
  taken_off_on TEXT CHECK (taken_off_on <> ''),
  change       INTEGER NOT NULL,
  PRIMARY KEY (object, number, change),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

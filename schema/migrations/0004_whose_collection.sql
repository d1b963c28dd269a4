-- Version 4: whose collection.

-- collection: a new table.
CREATE TABLE collection (
  code    TEXT CHECK (code <> ''),
  name    TEXT CHECK (name <> ''),
  contact TEXT CHECK (contact <> ''),
  address TEXT CHECK (address LIKE 'http%://%/'),
  licence TEXT CHECK (licence <> ''),
  change  INTEGER PRIMARY KEY NOT NULL,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- first_made: a new table.
CREATE TABLE first_made (
  change       INTEGER PRIMARY KEY NOT NULL,
  at           TEXT NOT NULL,
  tool_version TEXT NOT NULL,
  hash         TEXT NOT NULL CHECK (length(hash) = 64),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

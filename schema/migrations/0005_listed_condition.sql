-- Version 5: listed condition.

-- objects: listed_condition.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM objects;
DROP TABLE objects;
CREATE TABLE objects (
  object           TEXT NOT NULL CHECK (object <> ''),
  title            TEXT NOT NULL CHECK (title <> ''),
  kind             TEXT NOT NULL CHECK (kind <> ''),
  maker            TEXT,
  made             TEXT,
  made_earliest    TEXT CHECK ((made IS NULL) = (made_earliest IS NULL)),
  made_latest      TEXT CHECK ((made IS NULL) = (made_latest IS NULL)) CHECK (made_earliest <= made_latest),
  materials        TEXT,
  dimensions       TEXT,
  part_of          TEXT,
  other_numbers    TEXT,
  owner            TEXT,
  status           TEXT CHECK (status = 'held' OR status = 'on loan' OR status = 'left'),
  value_points     REAL CHECK (value_points BETWEEN 0.0 AND 1000000000.0),
  surroundings     TEXT CHECK (surroundings = 'indoors steady' OR surroundings = 'indoors' OR surroundings = 'sheltered' OR surroundings = 'outdoors' OR surroundings = 'unknown'),
  listed_condition TEXT,
  public_place     TEXT,
  store_place      TEXT,
  source           TEXT,
  audience         TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes            TEXT,
  survey           TEXT NOT NULL,
  from_file        TEXT NOT NULL,
  from_row         INTEGER,
  revision         INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change           INTEGER NOT NULL,
  withdrawn        INTEGER,
  PRIMARY KEY (object),
  CHECK (rowid > 0),
  FOREIGN KEY (part_of) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO objects (object, title, kind, maker, made, made_earliest, made_latest, materials, dimensions, part_of,
  other_numbers, owner, status, value_points, surroundings, public_place, store_place, source, audience, notes,
  survey, from_file, from_row, revision, change, withdrawn)
SELECT object, title, kind, maker, made, made_earliest, made_latest, materials, dimensions, part_of, other_numbers,
  owner, status, value_points, surroundings, public_place, store_place, source, audience, notes, survey, from_file,
  from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX objects_withdrawn ON objects (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX objects_loose ON objects (replace(replace(lower(object), ' ', ''), '0', ''));
CREATE INDEX objects_beyond_ascii ON objects (object) WHERE object GLOB '*[^ -~]*';

-- Version 8: threats with their reach.

-- risks: what a magnitude is made of takes the place of the magnitude, which also hangs on the rest of the collection.
-- No version has written a row here, and what is derived is made again from the records.
DROP TABLE risks;
CREATE TABLE risks (
  object         TEXT NOT NULL,
  number         INTEGER NOT NULL CHECK (number >= 1),
  threat         TEXT NOT NULL,
  place          TEXT,
  message        TEXT NOT NULL,
  remedy         TEXT NOT NULL,
  evidence       TEXT NOT NULL CHECK (json_valid(evidence)),
  soon           TEXT NOT NULL,
  reaches_low    REAL CHECK (reaches_low BETWEEN 0.0 AND 1.0),
  reaches_middle REAL CHECK (reaches_middle BETWEEN 0.0 AND 1.0),
  reaches_high   REAL CHECK (reaches_high BETWEEN 0.0 AND 1.0),
  event          TEXT NOT NULL,
  act            TEXT NOT NULL,
  amount         INTEGER NOT NULL CHECK (amount >= 0),
  pace_years     REAL CHECK (pace_years BETWEEN 0.0 AND 1000000000000000.0),
  after          TEXT,
  until          TEXT,
  action         TEXT,
  area_m2        REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000000000000.0),
  engine         TEXT NOT NULL,
  PRIMARY KEY (object, number),
  CHECK (rowid > 0)
) STRICT;

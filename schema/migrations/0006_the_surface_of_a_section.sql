-- Version 6: the surface of a section.

-- pictures: surface_px.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM pictures;
DROP TABLE pictures;
CREATE TABLE pictures (
  object            TEXT NOT NULL CHECK (object <> ''),
  picture           TEXT NOT NULL CHECK (picture <> ''),
  file              TEXT NOT NULL CHECK (file <> ''),
  place             TEXT,
  sample            TEXT,
  test              TEXT,
  treatment         TEXT,
  lighting          TEXT CHECK (lighting = 'normal' OR lighting = 'raking' OR lighting = 'specular' OR lighting = 'transmitted' OR lighting = 'ultraviolet fluorescence' OR lighting = 'ultraviolet reflected' OR lighting = 'infrared' OR lighting = 'dark field' OR lighting = 'polarised' OR lighting = 'X-ray'),
  view              TEXT CHECK (view = 'whole' OR view = 'detail' OR view = 'micrograph'),
  stage             TEXT CHECK (stage = 'before' OR stage = 'during' OR stage = 'after' OR stage = 'other'),
  caption           TEXT,
  taken_on          TEXT,
  taken_on_earliest TEXT CHECK ((taken_on IS NULL) = (taken_on_earliest IS NULL)),
  taken_on_latest   TEXT CHECK ((taken_on IS NULL) = (taken_on_latest IS NULL)) CHECK (taken_on_earliest <= taken_on_latest),
  taken_by          TEXT,
  um_per_px         REAL CHECK (um_per_px BETWEEN 0.0 AND 1000000000.0),
  surface_px        REAL CHECK (surface_px BETWEEN 0.0 AND 1000000000.0),
  rights            TEXT,
  source            TEXT,
  audience          TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes             TEXT,
  survey            TEXT NOT NULL,
  from_file         TEXT NOT NULL,
  from_row          INTEGER,
  revision          INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change            INTEGER NOT NULL,
  withdrawn         INTEGER,
  PRIMARY KEY (object, picture),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, sample) REFERENCES samples (object, sample) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, test) REFERENCES tests (object, test) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, treatment) REFERENCES treatments (object, treatment) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO pictures (object, picture, file, place, sample, test, treatment, lighting, view, stage, caption, taken_on,
  taken_on_earliest, taken_on_latest, taken_by, um_per_px, rights, source, audience, notes, survey, from_file,
  from_row, revision, change, withdrawn)
SELECT object, picture, file, place, sample, test, treatment, lighting, view, stage, caption, taken_on,
  taken_on_earliest, taken_on_latest, taken_by, um_per_px, rights, source, audience, notes, survey, from_file,
  from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX pictures_withdrawn ON pictures (withdrawn) WHERE withdrawn IS NOT NULL;

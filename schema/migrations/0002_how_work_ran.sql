-- Version 2: how work really ran, what advice speaks against, claims with dated states, what a step leaves out,
-- and answers to advice.
-- Most new columns stand among the old ones, and SQLite adds columns at the end only, so these tables are made anew.
-- Their rows wait in a temporary table meanwhile and come back in the order in which they were stored. Indexes go
-- with their tables and are made again here; triggers are made again by whoever runs this, from guards.sql. What was
-- not asked before is blank.

-- surveys: whether it was made up for a demonstration.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM surveys;
DROP TABLE surveys;
CREATE TABLE surveys (
  code             TEXT NOT NULL CHECK (code <> ''),
  title            TEXT NOT NULL CHECK (title <> ''),
  lead             TEXT NOT NULL CHECK (lead <> ''),
  started          TEXT NOT NULL CHECK (started <> ''),
  started_earliest TEXT NOT NULL CHECK ((started IS NULL) = (started_earliest IS NULL)),
  started_latest   TEXT NOT NULL CHECK ((started IS NULL) = (started_latest IS NULL)) CHECK (started_earliest <= started_latest),
  institution      TEXT,
  ended            TEXT,
  ended_earliest   TEXT CHECK ((ended IS NULL) = (ended_earliest IS NULL)),
  ended_latest     TEXT CHECK ((ended IS NULL) = (ended_latest IS NULL)) CHECK (ended_earliest <= ended_latest),
  scope            TEXT,
  method           TEXT,
  invented         TEXT CHECK (invented = 'yes' OR invented = 'no'),
  from_file        TEXT NOT NULL,
  from_row         INTEGER,
  revision         INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change           INTEGER NOT NULL,
  withdrawn        INTEGER,
  PRIMARY KEY (code),
  CHECK (rowid > 0),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO surveys (code, title, lead, started, started_earliest, started_latest, institution, ended, ended_earliest,
  ended_latest, scope, method, from_file, from_row, revision, change, withdrawn)
SELECT code, title, lead, started, started_earliest, started_latest, institution, ended, ended_earliest, ended_latest,
  scope, method, from_file, from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX surveys_withdrawn ON surveys (withdrawn) WHERE withdrawn IS NOT NULL;

-- objects: the climate it stands in.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM objects;
DROP TABLE objects;
CREATE TABLE objects (
  object        TEXT NOT NULL CHECK (object <> ''),
  title         TEXT NOT NULL CHECK (title <> ''),
  kind          TEXT NOT NULL CHECK (kind <> ''),
  maker         TEXT,
  made          TEXT,
  made_earliest TEXT CHECK ((made IS NULL) = (made_earliest IS NULL)),
  made_latest   TEXT CHECK ((made IS NULL) = (made_latest IS NULL)) CHECK (made_earliest <= made_latest),
  materials     TEXT,
  dimensions    TEXT,
  part_of       TEXT,
  other_numbers TEXT,
  owner         TEXT,
  status        TEXT CHECK (status = 'held' OR status = 'on loan' OR status = 'left'),
  value_points  REAL CHECK (value_points BETWEEN 0.0 AND 1000000000.0),
  surroundings  TEXT CHECK (surroundings = 'indoors steady' OR surroundings = 'indoors' OR surroundings = 'sheltered' OR surroundings = 'outdoors' OR surroundings = 'unknown'),
  public_place  TEXT,
  store_place   TEXT,
  source        TEXT,
  audience      TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes         TEXT,
  survey        TEXT NOT NULL,
  from_file     TEXT NOT NULL,
  from_row      INTEGER,
  revision      INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change        INTEGER NOT NULL,
  withdrawn     INTEGER,
  PRIMARY KEY (object),
  CHECK (rowid > 0),
  FOREIGN KEY (part_of) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO objects (object, title, kind, maker, made, made_earliest, made_latest, materials, dimensions, part_of,
  other_numbers, owner, status, value_points, public_place, store_place, source, audience, notes, survey, from_file,
  from_row, revision, change, withdrawn)
SELECT object, title, kind, maker, made, made_earliest, made_latest, materials, dimensions, part_of, other_numbers,
  owner, status, value_points, public_place, store_place, source, audience, notes, survey, from_file, from_row,
  revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX objects_withdrawn ON objects (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX objects_loose ON objects (replace(replace(lower(object), ' ', ''), '0', ''));
CREATE INDEX objects_beyond_ascii ON objects (object) WHERE object GLOB '*[^ -~]*';

-- samples: whether it speaks of one spot or of the whole place.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM samples;
DROP TABLE samples;
CREATE TABLE samples (
  object            TEXT NOT NULL CHECK (object <> ''),
  sample            TEXT NOT NULL CHECK (sample <> ''),
  place             TEXT NOT NULL CHECK (place <> ''),
  method            TEXT NOT NULL CHECK (method = 'cross-section' OR method = 'exposure' OR method = 'scraping' OR method = 'surface' OR method = 'gauge'),
  x                 REAL CHECK (x BETWEEN -1000000000.0 AND 1000000000.0),
  y                 REAL CHECK (y BETWEEN -1000000000.0 AND 1000000000.0),
  taken_on          TEXT,
  taken_on_earliest TEXT CHECK ((taken_on IS NULL) = (taken_on_earliest IS NULL)),
  taken_on_latest   TEXT CHECK ((taken_on IS NULL) = (taken_on_latest IS NULL)) CHECK (taken_on_earliest <= taken_on_latest),
  taken_by          TEXT,
  mount             TEXT,
  instrument        TEXT,
  kept_at           TEXT,
  chosen            TEXT CHECK (chosen = 'random' OR chosen = 'expected' OR chosen = 'at a loss'),
  counted_from      TEXT CHECK (counted_from = 'support' OR counted_from = 'surface'),
  extent            TEXT CHECK (extent = 'spot' OR extent = 'whole place'),
  reaches_support   TEXT CHECK (reaches_support = 'yes' OR reaches_support = 'no'),
  total_um          REAL CHECK (total_um BETWEEN 0.0 AND 1000000.0),
  source            TEXT,
  audience          TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes             TEXT,
  survey            TEXT NOT NULL,
  from_file         TEXT NOT NULL,
  from_row          INTEGER,
  revision          INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change            INTEGER NOT NULL,
  withdrawn         INTEGER,
  PRIMARY KEY (object, sample),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO samples (object, sample, place, method, x, y, taken_on, taken_on_earliest, taken_on_latest, taken_by,
  mount, instrument, kept_at, chosen, counted_from, reaches_support, total_um, source, audience, notes, survey,
  from_file, from_row, revision, change, withdrawn)
SELECT object, sample, place, method, x, y, taken_on, taken_on_earliest, taken_on_latest, taken_by, mount, instrument,
  kept_at, chosen, counted_from, reaches_support, total_um, source, audience, notes, survey, from_file, from_row,
  revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX samples_withdrawn ON samples (withdrawn) WHERE withdrawn IS NOT NULL;

-- tests: how the finish under the swab held; the action `move`.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM tests;
DROP TABLE tests;
CREATE TABLE tests (
  object             TEXT NOT NULL CHECK (object <> ''),
  test               TEXT NOT NULL CHECK (test <> ''),
  place              TEXT NOT NULL CHECK (place <> ''),
  agent              TEXT NOT NULL CHECK (agent <> ''),
  action             TEXT CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'move' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
  sample             TEXT,
  ph                 REAL CHECK (ph BETWEEN 0.0 AND 14.0),
  conductivity_mscm  REAL CHECK (conductivity_mscm BETWEEN 0.0 AND 1000.0),
  application        TEXT CHECK (application = 'spray' OR application = 'rolled swab' OR application = 'cloth' OR application = 'sponge' OR application = 'rubbed swab' OR application = 'brush' OR application = 'tissue' OR application = 'gel' OR application = 'poultice' OR application = 'immersion'),
  dwell_s            REAL CHECK (dwell_s BETWEEN 0.0 AND 10000000.0),
  passes             INTEGER CHECK (passes BETWEEN 1 AND 10000),
  temperature_c      REAL CHECK (temperature_c BETWEEN -50.0 AND 1000.0),
  arrested_with      TEXT,
  looked_with        TEXT CHECK (looked_with = 'eye' OR looked_with = 'loupe' OR looked_with = 'microscope'),
  after_drying       TEXT CHECK (after_drying = 'yes' OR after_drying = 'no'),
  finish             TEXT CHECK (finish = 'sound' OR finish = 'failing' OR finish = 'laid'),
  tested_on          TEXT,
  tested_on_earliest TEXT CHECK ((tested_on IS NULL) = (tested_on_earliest IS NULL)),
  tested_on_latest   TEXT CHECK ((tested_on IS NULL) = (tested_on_latest IS NULL)) CHECK (tested_on_earliest <= tested_on_latest),
  tested_by          TEXT,
  source             TEXT,
  audience           TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes              TEXT,
  survey             TEXT NOT NULL,
  from_file          TEXT NOT NULL,
  from_row           INTEGER,
  revision           INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change             INTEGER NOT NULL,
  withdrawn          INTEGER,
  PRIMARY KEY (object, test),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, sample) REFERENCES samples (object, sample) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO tests (object, test, place, agent, action, sample, ph, conductivity_mscm, application, dwell_s, passes,
  temperature_c, arrested_with, looked_with, after_drying, tested_on, tested_on_earliest, tested_on_latest, tested_by,
  source, audience, notes, survey, from_file, from_row, revision, change, withdrawn)
SELECT object, test, place, agent, action, sample, ph, conductivity_mscm, application, dwell_s, passes, temperature_c,
  arrested_with, looked_with, after_drying, tested_on, tested_on_earliest, tested_on_latest, tested_by, source,
  audience, notes, survey, from_file, from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX tests_withdrawn ON tests (withdrawn) WHERE withdrawn IS NOT NULL;

-- proposal_steps: what is masked or left out, and the area where it is part of the place; the action `move`.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM proposal_steps;
DROP TABLE proposal_steps;
CREATE TABLE proposal_steps (
  object            TEXT NOT NULL CHECK (object <> ''),
  proposal          TEXT NOT NULL CHECK (proposal <> ''),
  step              INTEGER NOT NULL CHECK (step BETWEEN 1 AND 9999),
  place             TEXT NOT NULL CHECK (place <> ''),
  action            TEXT NOT NULL CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'move' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
  agent             TEXT,
  ph                REAL CHECK (ph BETWEEN 0.0 AND 14.0),
  conductivity_mscm REAL CHECK (conductivity_mscm BETWEEN 0.0 AND 1000.0),
  application       TEXT CHECK (application = 'spray' OR application = 'rolled swab' OR application = 'cloth' OR application = 'sponge' OR application = 'rubbed swab' OR application = 'brush' OR application = 'tissue' OR application = 'gel' OR application = 'poultice' OR application = 'immersion'),
  dwell_s           REAL CHECK (dwell_s BETWEEN 0.0 AND 10000000.0),
  passes            INTEGER CHECK (passes BETWEEN 1 AND 10000),
  temperature_c     REAL CHECK (temperature_c BETWEEN -50.0 AND 1000.0),
  depth_um          REAL CHECK (depth_um BETWEEN 0.0 AND 1000000.0),
  depth_sd_um       REAL CHECK (depth_sd_um BETWEEN 0.0 AND 1000000.0),
  removes           TEXT,
  stop_at           TEXT,
  arrest_with       TEXT,
  adds              TEXT,
  adds_binder       TEXT CHECK (adds_binder = 'oil' OR adds_binder = 'oleoresin' OR adds_binder = 'stoved enamel' OR adds_binder = 'vitreous enamel' OR adds_binder = 'alkyd' OR adds_binder = 'cellulose nitrate' OR adds_binder = 'cellulose ester dope' OR adds_binder = 'shellac' OR adds_binder = 'natural resin' OR adds_binder = 'Asian lacquer' OR adds_binder = 'bitumen' OR adds_binder = 'phenolic' OR adds_binder = 'acrylic' OR adds_binder = 'acrylic dispersion' OR adds_binder = 'polyvinyl acetate' OR adds_binder = 'polyurethane' OR adds_binder = 'epoxy' OR adds_binder = 'chlorinated rubber' OR adds_binder = 'silicone' OR adds_binder = 'vinyl film' OR adds_binder = 'wax' OR adds_binder = 'glue' OR adds_binder = 'casein' OR adds_binder = 'egg' OR adds_binder = 'gum' OR adds_binder = 'mixed' OR adds_binder = 'unknown'),
  adds_gloss_gu     REAL CHECK (adds_gloss_gu BETWEEN 0.0 AND 2000.0),
  removable_with    TEXT,
  spares            TEXT CHECK (spares <> ''),
  area_m2           REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  source            TEXT,
  audience          TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes             TEXT,
  survey            TEXT NOT NULL,
  from_file         TEXT NOT NULL,
  from_row          INTEGER,
  revision          INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change            INTEGER NOT NULL,
  withdrawn         INTEGER,
  PRIMARY KEY (object, proposal, step),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, proposal) REFERENCES proposals (object, proposal) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO proposal_steps (object, proposal, step, place, action, agent, ph, conductivity_mscm, application, dwell_s,
  passes, temperature_c, depth_um, depth_sd_um, removes, stop_at, arrest_with, adds, adds_binder, adds_gloss_gu,
  removable_with, source, audience, notes, survey, from_file, from_row, revision, change, withdrawn)
SELECT object, proposal, step, place, action, agent, ph, conductivity_mscm, application, dwell_s, passes,
  temperature_c, depth_um, depth_sd_um, removes, stop_at, arrest_with, adds, adds_binder, adds_gloss_gu,
  removable_with, source, audience, notes, survey, from_file, from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX proposal_steps_withdrawn ON proposal_steps (withdrawn) WHERE withdrawn IS NOT NULL;

-- treatment_steps: how the work really ran, and how each step came out; the action `move`.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM treatment_steps;
DROP TABLE treatment_steps;
CREATE TABLE treatment_steps (
  object            TEXT NOT NULL CHECK (object <> ''),
  treatment         TEXT NOT NULL CHECK (treatment <> ''),
  step              INTEGER NOT NULL CHECK (step BETWEEN 1 AND 9999),
  place             TEXT NOT NULL CHECK (place <> ''),
  action            TEXT NOT NULL CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'move' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
  agent             TEXT,
  ph                REAL CHECK (ph BETWEEN 0.0 AND 14.0),
  conductivity_mscm REAL CHECK (conductivity_mscm BETWEEN 0.0 AND 1000.0),
  application       TEXT CHECK (application = 'spray' OR application = 'rolled swab' OR application = 'cloth' OR application = 'sponge' OR application = 'rubbed swab' OR application = 'brush' OR application = 'tissue' OR application = 'gel' OR application = 'poultice' OR application = 'immersion'),
  dwell_s           REAL CHECK (dwell_s BETWEEN 0.0 AND 10000000.0),
  passes            INTEGER CHECK (passes BETWEEN 1 AND 10000),
  temperature_c     REAL CHECK (temperature_c BETWEEN -50.0 AND 1000.0),
  arrested_with     TEXT,
  depth_um          REAL CHECK (depth_um BETWEEN 0.0 AND 1000000.0),
  removed           TEXT,
  removed_m2        REAL CHECK (removed_m2 BETWEEN 0.0 AND 1000000.0),
  stopped_at        TEXT,
  adds              TEXT,
  adds_binder       TEXT CHECK (adds_binder = 'oil' OR adds_binder = 'oleoresin' OR adds_binder = 'stoved enamel' OR adds_binder = 'vitreous enamel' OR adds_binder = 'alkyd' OR adds_binder = 'cellulose nitrate' OR adds_binder = 'cellulose ester dope' OR adds_binder = 'shellac' OR adds_binder = 'natural resin' OR adds_binder = 'Asian lacquer' OR adds_binder = 'bitumen' OR adds_binder = 'phenolic' OR adds_binder = 'acrylic' OR adds_binder = 'acrylic dispersion' OR adds_binder = 'polyvinyl acetate' OR adds_binder = 'polyurethane' OR adds_binder = 'epoxy' OR adds_binder = 'chlorinated rubber' OR adds_binder = 'silicone' OR adds_binder = 'vinyl film' OR adds_binder = 'wax' OR adds_binder = 'glue' OR adds_binder = 'casein' OR adds_binder = 'egg' OR adds_binder = 'gum' OR adds_binder = 'mixed' OR adds_binder = 'unknown'),
  gloss_after_gu    REAL CHECK (gloss_after_gu BETWEEN 0.0 AND 2000.0),
  removable_with    TEXT,
  area_m2           REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  outcome           TEXT CHECK (outcome = 'done' OR outcome = 'partly' OR outcome = 'tried and failed'),
  hours             REAL CHECK (hours BETWEEN 0.0 AND 1000000.0),
  source            TEXT,
  audience          TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes             TEXT,
  survey            TEXT NOT NULL,
  from_file         TEXT NOT NULL,
  from_row          INTEGER,
  revision          INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change            INTEGER NOT NULL,
  withdrawn         INTEGER,
  PRIMARY KEY (object, treatment, step),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, treatment) REFERENCES treatments (object, treatment) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO treatment_steps (object, treatment, step, place, action, agent, ph, application, removed, stopped_at,
  adds, adds_binder, removable_with, area_m2, hours, source, audience, notes, survey, from_file, from_row, revision,
  change, withdrawn)
SELECT object, treatment, step, place, action, agent, ph, application, removed, stopped_at, adds, adds_binder,
  removable_with, area_m2, hours, source, audience, notes, survey, from_file, from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX treatment_steps_withdrawn ON treatment_steps (withdrawn) WHERE withdrawn IS NOT NULL;

-- advice: what it speaks against, how long it holds, and what took its place.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM advice;
DROP TABLE advice;
CREATE TABLE advice (
  object            TEXT NOT NULL CHECK (object <> ''),
  advice            TEXT NOT NULL CHECK (advice <> ''),
  what              TEXT NOT NULL CHECK (what <> ''),
  given_on          TEXT NOT NULL CHECK (given_on <> ''),
  given_on_earliest TEXT NOT NULL CHECK ((given_on IS NULL) = (given_on_earliest IS NULL)),
  given_on_latest   TEXT NOT NULL CHECK ((given_on IS NULL) = (given_on_latest IS NULL)) CHECK (given_on_earliest <= given_on_latest),
  place             TEXT,
  given_by          TEXT,
  why               TEXT,
  priority          TEXT CHECK (priority = 'now' OR priority = 'soon' OR priority = 'when convenient'),
  done_by           TEXT,
  against           TEXT CHECK (against <> ''),
  until             TEXT,
  until_earliest    TEXT CHECK ((until IS NULL) = (until_earliest IS NULL)),
  until_latest      TEXT CHECK ((until IS NULL) = (until_latest IS NULL)) CHECK (until_earliest <= until_latest),
  replaced_by       TEXT,
  source            TEXT,
  audience          TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes             TEXT,
  survey            TEXT NOT NULL,
  from_file         TEXT NOT NULL,
  from_row          INTEGER,
  revision          INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change            INTEGER NOT NULL,
  withdrawn         INTEGER,
  PRIMARY KEY (object, advice),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, done_by) REFERENCES treatments (object, treatment) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, replaced_by) REFERENCES advice (object, advice) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO advice (object, advice, what, given_on, given_on_earliest, given_on_latest, place, given_by, why,
  priority, done_by, source, audience, notes, survey, from_file, from_row, revision, change, withdrawn)
SELECT object, advice, what, given_on, given_on_earliest, given_on_latest, place, given_by, why, priority, done_by,
  source, audience, notes, survey, from_file, from_row, revision, change, withdrawn
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX advice_withdrawn ON advice (withdrawn) WHERE withdrawn IS NOT NULL;

-- claims: the day it stood so, as a part of the key: one row per dated state.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM claims;
DROP TABLE claims;
CREATE TABLE claims (
  object               TEXT NOT NULL CHECK (object <> ''),
  claim                TEXT NOT NULL CHECK (claim <> ''),
  statement            TEXT NOT NULL CHECK (statement <> ''),
  status               TEXT NOT NULL CHECK (status = 'untested' OR status = 'supported' OR status = 'confirmed' OR status = 'refuted'),
  place                TEXT,
  decoration           TEXT,
  resolved_by          TEXT,
  observed_on          TEXT NOT NULL,
  observed_on_earliest TEXT CHECK ((observed_on = '') = (observed_on_earliest IS NULL)),
  observed_on_latest   TEXT CHECK ((observed_on = '') = (observed_on_latest IS NULL)) CHECK (observed_on_earliest <= observed_on_latest),
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, claim, observed_on),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO claims (object, claim, statement, status, place, decoration, resolved_by, source, audience, notes, survey,
  from_file, from_row, revision, change, withdrawn, observed_on)
SELECT object, claim, statement, status, place, decoration, resolved_by, source, audience, notes, survey, from_file,
  from_row, revision, change, withdrawn, ''
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX claims_withdrawn ON claims (withdrawn) WHERE withdrawn IS NOT NULL;

-- answers: why an approval goes against advice.
CREATE TABLE answers (
  object   TEXT NOT NULL,
  proposal TEXT NOT NULL,
  number   INTEGER NOT NULL CHECK (number >= 1),
  advice   TEXT NOT NULL,
  content  TEXT NOT NULL CHECK (json_valid(content)),
  reason   TEXT NOT NULL CHECK (trim(reason) <> ''),
  change   INTEGER NOT NULL,
  PRIMARY KEY (object, proposal, number, advice),
  CHECK (rowid > 0),
  FOREIGN KEY (object, proposal, number) REFERENCES decisions (object, proposal, number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

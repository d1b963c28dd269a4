-- The tables of a firstcoat database. What each column means is written in the table `dictionary`.
-- Dates are text as people wrote them (ISO 8601-2); the two columns after each are its earliest and
-- latest day. A record is never deleted: `withdrawn` names the change that took it out of account, and
-- `history` holds every content that a later change replaced. Triggers that hold this: guards.sql.

-- What every table and column of this file means.
CREATE TABLE dictionary (
  table_name  TEXT NOT NULL,
  column_name TEXT NOT NULL,
  meaning     TEXT NOT NULL CHECK (meaning <> ''),
  unit        TEXT,
  kind        TEXT NOT NULL,
  words       TEXT,
  reference   TEXT,
  private     INTEGER NOT NULL CHECK (private = 0 OR private = 1),
  source      TEXT NOT NULL,
  PRIMARY KEY (table_name, column_name),
  CHECK (rowid > 0)
) STRICT;

-- The versions of the schema that this file has been through.
CREATE TABLE migrations (
  version      INTEGER PRIMARY KEY CHECK (version >= 1),
  name         TEXT NOT NULL,
  sha256       TEXT NOT NULL CHECK (length(sha256) = 64),
  applied_at   TEXT NOT NULL,
  tool_version TEXT NOT NULL
) STRICT;

-- Who changed what, why and when; each row is chained to the one before it by its hash. Numbers, not clocks,
-- give the order.
CREATE TABLE changes (
  number         INTEGER PRIMARY KEY CHECK (number >= 1),
  at             TEXT NOT NULL,
  by             TEXT NOT NULL CHECK (trim(by) <> ''),
  why            TEXT NOT NULL CHECK (trim(why) <> ''),
  action         TEXT NOT NULL,
  subject        TEXT NOT NULL,
  tool_version   TEXT NOT NULL,
  package_sha256 TEXT CHECK (length(package_sha256) = 64),
  content_sha256 TEXT CHECK (length(content_sha256) = 64),
  previous_hash  TEXT,
  hash           TEXT CHECK (length(hash) = 64)
) STRICT;

-- Every content of a record that a later change replaced, written by trigger, never altered.
CREATE TABLE history (
  id       INTEGER PRIMARY KEY CHECK (id > 0),
  sheet    TEXT NOT NULL,
  key      TEXT NOT NULL,
  revision INTEGER NOT NULL CHECK (revision >= 0),
  survey   TEXT NOT NULL,
  content  TEXT NOT NULL CHECK (json_valid(content)),
  change   INTEGER NOT NULL,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- The one name space of zones and parts of an object, and `all` for the whole of it.
CREATE TABLE places (
  object TEXT NOT NULL,
  place  TEXT NOT NULL,
  kind   TEXT NOT NULL CHECK (kind = 'all' OR kind = 'component' OR kind = 'zone') CHECK ((kind = 'all') = (place = 'all')),
  PRIMARY KEY (object, place),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- The survey packages that were read.
CREATE TABLE packages (
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
  survey TEXT NOT NULL,
  name   TEXT NOT NULL,
  change INTEGER NOT NULL,
  PRIMARY KEY (sha256),
  CHECK (rowid > 0),
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- The files that are kept in the folder beside the database, each under its hash.
CREATE TABLE files (
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
  bytes  INTEGER NOT NULL CHECK (bytes >= 0),
  name   TEXT NOT NULL,
  change INTEGER NOT NULL,
  PRIMARY KEY (sha256),
  CHECK (rowid > 0),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Which record names which file; of several rows the one with the newest change holds.
CREATE TABLE file_uses (
  sheet  TEXT NOT NULL,
  key    TEXT NOT NULL,
  column TEXT NOT NULL,
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
  change INTEGER NOT NULL,
  PRIMARY KEY (sheet, key, column, change),
  CHECK (rowid > 0),
  FOREIGN KEY (sha256) REFERENCES files (sha256) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- What was doubtful about a record when it was read; it stays attached to the record.
CREATE TABLE warnings (
  id      INTEGER PRIMARY KEY CHECK (id > 0),
  sheet   TEXT NOT NULL,
  key     TEXT NOT NULL,
  column  TEXT,
  message TEXT NOT NULL,
  change  INTEGER NOT NULL,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Cells of a foreign list for which its mapping named no column, kept with their record.
CREATE TABLE unmapped_cells (
  sheet   TEXT NOT NULL,
  key     TEXT NOT NULL,
  heading TEXT NOT NULL,
  value   TEXT NOT NULL,
  change  INTEGER NOT NULL,
  PRIMARY KEY (sheet, key, heading, change),
  CHECK (rowid > 0),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Statements that two codes are one thing; of several the one with the newest change holds.
CREATE TABLE same_things (
  sheet   TEXT NOT NULL,
  key     TEXT NOT NULL,
  same_as TEXT NOT NULL,
  holds   INTEGER NOT NULL CHECK (holds = 0 OR holds = 1),
  change  INTEGER NOT NULL,
  PRIMARY KEY (sheet, key, same_as, change),
  CHECK (rowid > 0),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- What was decided on a proposal, with all that was known of its losses on that day.
CREATE TABLE decisions (
  object        TEXT NOT NULL,
  proposal      TEXT NOT NULL,
  number        INTEGER NOT NULL CHECK (number >= 1),
  decision      TEXT NOT NULL CHECK (decision = 'approve' OR decision = 'refuse' OR decision = 'defer'),
  steps         TEXT CHECK (steps IS NULL OR json_valid(steps)),
  conditions    TEXT NOT NULL CHECK (json_valid(conditions)),
  decided_by    TEXT NOT NULL CHECK (trim(decided_by) <> ''),
  reason        TEXT NOT NULL,
  decided_at    TEXT NOT NULL,
  inputs_sha256 TEXT NOT NULL CHECK (length(inputs_sha256) = 64),
  outcome       TEXT NOT NULL CHECK (outcome = 'clear' OR outcome = 'stood' OR outcome = 'untested' OR outcome = 'endangers' OR outcome = 'destroys'),
  assessment    TEXT NOT NULL CHECK (json_valid(assessment)),
  change        INTEGER NOT NULL,
  PRIMARY KEY (object, proposal, number),
  CHECK (rowid > 0),
  FOREIGN KEY (object, proposal) REFERENCES proposals (object, proposal) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Losses that an approval accepted, each with its reason; it holds up to the severity it saw.
CREATE TABLE overrides (
  object   TEXT NOT NULL,
  proposal TEXT NOT NULL,
  number   INTEGER NOT NULL CHECK (number >= 1),
  loss     TEXT NOT NULL,
  severity TEXT NOT NULL CHECK (severity = 'clear' OR severity = 'stood' OR severity = 'untested' OR severity = 'endangers' OR severity = 'destroys'),
  reason   TEXT NOT NULL CHECK (trim(reason) <> ''),
  change   INTEGER NOT NULL,
  PRIMARY KEY (object, proposal, number, loss),
  CHECK (rowid > 0),
  FOREIGN KEY (object, proposal, number) REFERENCES decisions (object, proposal, number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Liquids with published values. A blank says that nothing is recorded, and is never read as harmless; use the
-- supplier's safety data sheet.
CREATE TABLE reference_solvents (
  name                  TEXT,
  aliases               TEXT,
  family                TEXT,
  cas                   TEXT,
  diluent               TEXT,
  asks                  TEXT,
  hansen_d              REAL,
  hansen_p              REAL,
  hansen_h              REAL,
  hansen_source         TEXT,
  hansen_status         TEXT,
  stand_in              TEXT,
  stand_in_status       TEXT,
  molar_volume_cm3      REAL,
  molar_volume_source   TEXT,
  molar_volume_status   TEXT,
  flash_c               REAL,
  lfl_pct               REAL,
  ufl_pct               REAL,
  fire_source           TEXT,
  fire_status           TEXT,
  twa_ppm               REAL,
  stel_ppm              REAL,
  exposure_body         TEXT,
  exposure_source       TEXT,
  exposure_status       TEXT,
  other_limits          TEXT,
  other_limits_source   TEXT,
  other_limits_status   TEXT,
  h_statements          TEXT,
  h_source              TEXT,
  h_status              TEXT,
  water_miscible        TEXT,
  water_miscible_status TEXT,
  note                  TEXT,
  PRIMARY KEY (name),
  CHECK (rowid > 0)
) STRICT;

-- Published Hansen spheres by binder; outside the sphere clears nothing.
CREATE TABLE reference_spheres (
  binder     TEXT,
  row        TEXT,
  hansen_d   REAL,
  hansen_p   REAL,
  hansen_h   REAL,
  radius     REAL,
  source_row TEXT,
  fit        TEXT,
  source     TEXT,
  status     TEXT,
  note       TEXT,
  PRIMARY KEY (binder, row, source_row),
  CHECK (rowid > 0)
) STRICT;

-- Our words with numbers of the Getty Art & Architecture Thesaurus (ODC-By 1.0).
CREATE TABLE reference_terms (
  word      TEXT,
  kind      TEXT,
  aat_id    TEXT,
  aat_label TEXT,
  match     TEXT,
  source    TEXT,
  status    TEXT,
  note      TEXT,
  PRIMARY KEY (word, kind, aat_id),
  CHECK (rowid > 0)
) STRICT;

-- One campaign: who, when, scope, method; every record belongs to the survey that brought it.
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

-- An accessioned thing.
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

-- A report, letter, photograph, analysis, or spoken account.
CREATE TABLE sources (
  object         TEXT NOT NULL CHECK (object <> ''),
  kind           TEXT NOT NULL CHECK (kind = 'report' OR kind = 'letter' OR kind = 'photograph' OR kind = 'analysis' OR kind = 'spoken' OR kind = 'other'),
  title          TEXT NOT NULL CHECK (title <> ''),
  dated          TEXT,
  dated_earliest TEXT CHECK ((dated IS NULL) = (dated_earliest IS NULL)),
  dated_latest   TEXT CHECK ((dated IS NULL) = (dated_latest IS NULL)) CHECK (dated_earliest <= dated_latest),
  kept_at        TEXT,
  file           TEXT,
  source         TEXT NOT NULL CHECK (source <> ''),
  audience       TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes          TEXT,
  survey         TEXT NOT NULL,
  from_file      TEXT NOT NULL,
  from_row       INTEGER,
  revision       INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change         INTEGER NOT NULL,
  withdrawn      INTEGER,
  PRIMARY KEY (object, source),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A part of an object, nested; one row per dated state.
CREATE TABLE components (
  object               TEXT NOT NULL CHECK (object <> ''),
  component            TEXT NOT NULL CHECK (component <> ''),
  name                 TEXT NOT NULL CHECK (name <> ''),
  parent               TEXT,
  support              TEXT,
  area_m2              REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  origin               TEXT CHECK (origin = 'original' OR origin = 'replaced' OR origin = 'added' OR origin = 'reused' OR origin = 'unknown'),
  fitted               TEXT,
  fitted_earliest      TEXT CHECK ((fitted IS NULL) = (fitted_earliest IS NULL)),
  fitted_latest        TEXT CHECK ((fitted IS NULL) = (fitted_latest IS NULL)) CHECK (fitted_earliest <= fitted_latest),
  presence             TEXT CHECK (presence = 'present' OR presence = 'missing' OR presence = 'stored apart'),
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
  PRIMARY KEY (object, component, observed_on),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, parent) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A scaled view of an object on which zones and sample points are placed.
CREATE TABLE drawings (
  object      TEXT NOT NULL CHECK (object <> ''),
  drawing     TEXT NOT NULL CHECK (drawing <> ''),
  file        TEXT NOT NULL CHECK (file <> ''),
  title       TEXT NOT NULL CHECK (title <> ''),
  mm_per_unit REAL CHECK (mm_per_unit BETWEEN 1e-06 AND 1000000000.0),
  source      TEXT,
  audience    TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes       TEXT,
  survey      TEXT NOT NULL,
  from_file   TEXT NOT NULL,
  from_row    INTEGER,
  revision    INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change      INTEGER NOT NULL,
  withdrawn   INTEGER,
  PRIMARY KEY (object, drawing),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A bounded area of one component's surface.
CREATE TABLE zones (
  object     TEXT NOT NULL CHECK (object <> ''),
  zone       TEXT NOT NULL CHECK (zone <> ''),
  component  TEXT NOT NULL CHECK (component <> ''),
  name       TEXT,
  within     TEXT,
  drawing    TEXT,
  outline    TEXT,
  area_m2    REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  area_basis TEXT CHECK (area_basis = 'measured' OR area_basis = 'estimated'),
  visibility TEXT CHECK (visibility = 'visible' OR visibility = 'inconspicuous' OR visibility = 'hidden'),
  source     TEXT,
  audience   TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes      TEXT,
  survey     TEXT NOT NULL,
  from_file  TEXT NOT NULL,
  from_row   INTEGER,
  revision   INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change     INTEGER NOT NULL,
  withdrawn  INTEGER,
  PRIMARY KEY (object, zone),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, component) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, within) REFERENCES zones (object, zone) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, drawing) REFERENCES drawings (object, drawing) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- One campaign of finishing: a set of coats applied together.
CREATE TABLE schemes (
  object        TEXT NOT NULL CHECK (object <> ''),
  scheme        TEXT NOT NULL CHECK (scheme <> ''),
  name          TEXT NOT NULL CHECK (name <> ''),
  period        TEXT NOT NULL CHECK (period = 'original' OR period = 'early' OR period = 'later' OR period = 'restoration' OR period = 'recent' OR period = 'unknown'),
  rank          REAL CHECK (rank BETWEEN 0.0 AND 10000.0),
  made          TEXT,
  made_earliest TEXT CHECK ((made IS NULL) = (made_earliest IS NULL)),
  made_latest   TEXT CHECK ((made IS NULL) = (made_latest IS NULL)) CHECK (made_earliest <= made_latest),
  certainty     TEXT CHECK (certainty = 'confirmed' OR certainty = 'probable' OR certainty = 'possible'),
  basis         TEXT,
  component     TEXT,
  keep          TEXT CHECK (keep = 'keep' OR keep = 'sample' OR keep = 'may go'),
  keep_why      TEXT,
  decided_by    TEXT,
  source        TEXT,
  audience      TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes         TEXT,
  survey        TEXT NOT NULL,
  from_file     TEXT NOT NULL,
  from_row      INTEGER,
  revision      INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change        INTEGER NOT NULL,
  withdrawn     INTEGER,
  PRIMARY KEY (object, scheme),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, component) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A place where the build-up was read.
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

-- One coat in a sample.
CREATE TABLE layers (
  object           TEXT NOT NULL CHECK (object <> ''),
  sample           TEXT NOT NULL CHECK (sample <> ''),
  position         INTEGER NOT NULL CHECK (position BETWEEN 1 AND 9999),
  role             TEXT NOT NULL CHECK (role = 'support' OR role = 'sealer' OR role = 'primer' OR role = 'filler' OR role = 'stain' OR role = 'ground' OR role = 'bole' OR role = 'mordant' OR role = 'body colour' OR role = 'lining' OR role = 'lettering' OR role = 'ornament' OR role = 'metal leaf' OR role = 'bronze paint' OR role = 'transfer' OR role = 'plating' OR role = 'bright metal' OR role = 'glaze' OR role = 'varnish' OR role = 'retouching' OR role = 'consolidant' OR role = 'adhesive' OR role = 'facing' OR role = 'wax' OR role = 'dirt' OR role = 'corrosion' OR role = 'patina' OR role = 'other'),
  binder           TEXT CHECK (binder = 'oil' OR binder = 'oleoresin' OR binder = 'stoved enamel' OR binder = 'vitreous enamel' OR binder = 'alkyd' OR binder = 'cellulose nitrate' OR binder = 'cellulose ester dope' OR binder = 'shellac' OR binder = 'natural resin' OR binder = 'Asian lacquer' OR binder = 'bitumen' OR binder = 'phenolic' OR binder = 'acrylic' OR binder = 'acrylic dispersion' OR binder = 'polyvinyl acetate' OR binder = 'polyurethane' OR binder = 'epoxy' OR binder = 'chlorinated rubber' OR binder = 'silicone' OR binder = 'vinyl film' OR binder = 'wax' OR binder = 'glue' OR binder = 'casein' OR binder = 'egg' OR binder = 'gum' OR binder = 'mixed' OR binder = 'unknown'),
  binder_basis     TEXT CHECK (binder_basis = 'analysed' OR binder_basis = 'tested' OR binder_basis = 'looked' OR binder_basis = 'guessed'),
  colour           TEXT,
  munsell          TEXT,
  lab_l            REAL CHECK (lab_l BETWEEN 0.0 AND 100.0),
  lab_a            REAL CHECK (lab_a BETWEEN -200.0 AND 200.0),
  lab_b            REAL CHECK (lab_b BETWEEN -200.0 AND 200.0),
  gloss_gu         REAL CHECK (gloss_gu BETWEEN 0.0 AND 2000.0),
  thickness_um     REAL CHECK (thickness_um BETWEEN 0.0 AND 100000.0),
  thickness_min_um REAL CHECK (thickness_min_um BETWEEN 0.0 AND 100000.0),
  thickness_max_um REAL CHECK (thickness_max_um BETWEEN 0.0 AND 100000.0),
  fluorescence     TEXT,
  boundary         TEXT,
  scheme           TEXT,
  period           TEXT CHECK (period = 'original' OR period = 'early' OR period = 'later' OR period = 'restoration' OR period = 'recent' OR period = 'unknown'),
  certainty        TEXT CHECK (certainty = 'confirmed' OR certainty = 'probable' OR certainty = 'possible'),
  coverage         TEXT CHECK (coverage = 'intact' OR coverage = 'partial' OR coverage = 'trace' OR coverage = 'absent'),
  coverage_pct     REAL CHECK (coverage_pct BETWEEN 0.0 AND 100.0),
  source           TEXT,
  audience         TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes            TEXT,
  survey           TEXT NOT NULL,
  from_file        TEXT NOT NULL,
  from_row         INTEGER,
  revision         INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change           INTEGER NOT NULL,
  withdrawn        INTEGER,
  PRIMARY KEY (object, sample, position),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, sample) REFERENCES samples (object, sample) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, scheme) REFERENCES schemes (object, scheme) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A material identified.
CREATE TABLE analyses (
  object               TEXT NOT NULL CHECK (object <> ''),
  analysis             TEXT NOT NULL CHECK (analysis <> ''),
  technique            TEXT NOT NULL CHECK (technique <> ''),
  result               TEXT NOT NULL CHECK (result <> ''),
  sample               TEXT,
  position             INTEGER CHECK (position BETWEEN 1 AND 9999),
  place                TEXT,
  material             TEXT,
  analysed_on          TEXT,
  analysed_on_earliest TEXT CHECK ((analysed_on IS NULL) = (analysed_on_earliest IS NULL)),
  analysed_on_latest   TEXT CHECK ((analysed_on IS NULL) = (analysed_on_latest IS NULL)) CHECK (analysed_on_earliest <= analysed_on_latest),
  analysed_by          TEXT,
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, analysis),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, sample) REFERENCES samples (object, sample) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, sample, position) REFERENCES layers (object, sample, position) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Lining, lettering, ornament, leaf or transfer; one row per dated state.
CREATE TABLE decorations (
  object               TEXT NOT NULL CHECK (object <> ''),
  decoration           TEXT NOT NULL CHECK (decoration <> ''),
  place                TEXT NOT NULL CHECK (place <> ''),
  kind                 TEXT NOT NULL CHECK (kind = 'lining' OR kind = 'lettering' OR kind = 'ornament' OR kind = 'metal leaf' OR kind = 'bronze paint' OR kind = 'transfer'),
  scheme               TEXT,
  lies                 TEXT CHECK (lies = 'under varnish' OR lies = 'over varnish' OR lies = 'unknown'),
  description          TEXT,
  state                TEXT CHECK (state = 'exposed' OR state = 'covered' OR state = 'fragment' OR state = 'lost' OR state = 'not found'),
  observed_on          TEXT NOT NULL,
  observed_on_earliest TEXT CHECK ((observed_on = '') = (observed_on_earliest IS NULL)),
  observed_on_latest   TEXT CHECK ((observed_on = '') = (observed_on_latest IS NULL)) CHECK (observed_on_earliest <= observed_on_latest),
  area_m2              REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  certainty            TEXT CHECK (certainty = 'confirmed' OR certainty = 'probable' OR certainty = 'possible'),
  basis                TEXT,
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, decoration, observed_on),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, scheme) REFERENCES schemes (object, scheme) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A place left untouched, an opened window or a sample site, that must stay.
CREATE TABLE reserves (
  object           TEXT NOT NULL CHECK (object <> ''),
  reserve          TEXT NOT NULL CHECK (reserve <> ''),
  place            TEXT NOT NULL CHECK (place <> ''),
  kind             TEXT NOT NULL CHECK (kind = 'reserve' OR kind = 'window' OR kind = 'sample site'),
  outline          TEXT,
  area_m2          REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  shows            TEXT,
  made_on          TEXT,
  made_on_earliest TEXT CHECK ((made_on IS NULL) = (made_on_earliest IS NULL)),
  made_on_latest   TEXT CHECK ((made_on IS NULL) = (made_on_latest IS NULL)) CHECK (made_on_earliest <= made_on_latest),
  made_by          TEXT,
  until            TEXT,
  until_earliest   TEXT CHECK ((until IS NULL) = (until_earliest IS NULL)),
  until_latest     TEXT CHECK ((until IS NULL) = (until_latest IS NULL)) CHECK (until_earliest <= until_latest),
  source           TEXT,
  audience         TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes            TEXT,
  survey           TEXT NOT NULL,
  from_file        TEXT NOT NULL,
  from_row         INTEGER,
  revision         INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change           INTEGER NOT NULL,
  withdrawn        INTEGER,
  PRIMARY KEY (object, reserve),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- A small cleaning test: agent, conditions, how it was looked at.
CREATE TABLE tests (
  object             TEXT NOT NULL CHECK (object <> ''),
  test               TEXT NOT NULL CHECK (test <> ''),
  place              TEXT NOT NULL CHECK (place <> ''),
  agent              TEXT NOT NULL CHECK (agent <> ''),
  action             TEXT CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
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

-- What a test did to one coat that it met: the strongest effect seen.
CREATE TABLE responses (
  object     TEXT NOT NULL CHECK (object <> ''),
  test       TEXT NOT NULL CHECK (test <> ''),
  response   TEXT NOT NULL CHECK (response = 'none seen' OR response = 'colour on swab' OR response = 'gloss change' OR response = 'blanched' OR response = 'swelled' OR response = 'softened' OR response = 'lifted' OR response = 'partly removed' OR response = 'removed'),
  scheme     TEXT NOT NULL,
  role       TEXT NOT NULL CHECK (role = '' OR role = 'support' OR role = 'sealer' OR role = 'primer' OR role = 'filler' OR role = 'stain' OR role = 'ground' OR role = 'bole' OR role = 'mordant' OR role = 'body colour' OR role = 'lining' OR role = 'lettering' OR role = 'ornament' OR role = 'metal leaf' OR role = 'bronze paint' OR role = 'transfer' OR role = 'plating' OR role = 'bright metal' OR role = 'glaze' OR role = 'varnish' OR role = 'retouching' OR role = 'consolidant' OR role = 'adhesive' OR role = 'facing' OR role = 'wax' OR role = 'dirt' OR role = 'corrosion' OR role = 'patina' OR role = 'other'),
  sample     TEXT NOT NULL,
  position   INTEGER NOT NULL CHECK (position BETWEEN 0 AND 9999),
  decoration TEXT NOT NULL,
  source     TEXT,
  audience   TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes      TEXT,
  survey     TEXT NOT NULL,
  from_file  TEXT NOT NULL,
  from_row   INTEGER,
  revision   INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change     INTEGER NOT NULL,
  withdrawn  INTEGER,
  PRIMARY KEY (object, test, scheme, role, sample, position, decoration),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, test) REFERENCES tests (object, test) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- An observed phenomenon, dated.
CREATE TABLE conditions (
  object               TEXT NOT NULL CHECK (object <> ''),
  place                TEXT NOT NULL CHECK (place <> ''),
  phenomenon           TEXT NOT NULL CHECK (phenomenon <> ''),
  observed_on          TEXT NOT NULL CHECK (observed_on <> ''),
  observed_on_earliest TEXT NOT NULL CHECK ((observed_on IS NULL) = (observed_on_earliest IS NULL)),
  observed_on_latest   TEXT NOT NULL CHECK ((observed_on IS NULL) = (observed_on_latest IS NULL)) CHECK (observed_on_earliest <= observed_on_latest),
  severity             INTEGER CHECK (severity BETWEEN 0 AND 3),
  extent_pct           REAL CHECK (extent_pct BETWEEN 0.0 AND 100.0),
  active               TEXT CHECK (active = 'yes' OR active = 'no' OR active = 'unknown'),
  scheme               TEXT NOT NULL,
  observed_by          TEXT,
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, place, phenomenon, observed_on, scheme),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Work somebody wants to do.
CREATE TABLE proposals (
  object               TEXT NOT NULL CHECK (object <> ''),
  proposal             TEXT NOT NULL CHECK (proposal <> ''),
  title                TEXT NOT NULL CHECK (title <> ''),
  proposed_by          TEXT NOT NULL CHECK (proposed_by <> ''),
  proposed_on          TEXT NOT NULL CHECK (proposed_on <> ''),
  proposed_on_earliest TEXT NOT NULL CHECK ((proposed_on IS NULL) = (proposed_on_earliest IS NULL)),
  proposed_on_latest   TEXT NOT NULL CHECK ((proposed_on IS NULL) = (proposed_on_latest IS NULL)) CHECK (proposed_on_earliest <= proposed_on_latest),
  purpose              TEXT,
  planned_for          TEXT,
  planned_for_earliest TEXT CHECK ((planned_for IS NULL) = (planned_for_earliest IS NULL)),
  planned_for_latest   TEXT CHECK ((planned_for IS NULL) = (planned_for_latest IS NULL)) CHECK (planned_for_earliest <= planned_for_latest),
  instead_of           TEXT,
  permission           TEXT,
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, proposal),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, instead_of) REFERENCES proposals (object, proposal) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- One ordered step of a proposal.
CREATE TABLE proposal_steps (
  object            TEXT NOT NULL CHECK (object <> ''),
  proposal          TEXT NOT NULL CHECK (proposal <> ''),
  step              INTEGER NOT NULL CHECK (step BETWEEN 1 AND 9999),
  place             TEXT NOT NULL CHECK (place <> ''),
  action            TEXT NOT NULL CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
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

-- What was done or tried.
CREATE TABLE treatments (
  object                   TEXT NOT NULL CHECK (object <> ''),
  treatment                TEXT NOT NULL CHECK (treatment <> ''),
  purpose                  TEXT NOT NULL CHECK (purpose <> ''),
  started                  TEXT,
  started_earliest         TEXT CHECK ((started IS NULL) = (started_earliest IS NULL)),
  started_latest           TEXT CHECK ((started IS NULL) = (started_latest IS NULL)) CHECK (started_earliest <= started_latest),
  ended                    TEXT,
  ended_earliest           TEXT CHECK ((ended IS NULL) = (ended_earliest IS NULL)),
  ended_latest             TEXT CHECK ((ended IS NULL) = (ended_latest IS NULL)) CHECK (ended_earliest <= ended_latest),
  treated_by               TEXT,
  authorised_by            TEXT,
  proposal                 TEXT,
  outcome                  TEXT CHECK (outcome = 'done' OR outcome = 'partly' OR outcome = 'tried and failed'),
  temporary_until          TEXT,
  temporary_until_earliest TEXT CHECK ((temporary_until IS NULL) = (temporary_until_earliest IS NULL)),
  temporary_until_latest   TEXT CHECK ((temporary_until IS NULL) = (temporary_until_latest IS NULL)) CHECK (temporary_until_earliest <= temporary_until_latest),
  report                   TEXT,
  source                   TEXT,
  audience                 TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                    TEXT,
  survey                   TEXT NOT NULL,
  from_file                TEXT NOT NULL,
  from_row                 INTEGER,
  revision                 INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change                   INTEGER NOT NULL,
  withdrawn                INTEGER,
  PRIMARY KEY (object, treatment),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, proposal) REFERENCES proposals (object, proposal) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- One step of a treatment: where, with what, what was removed, where it stopped, what was added.
CREATE TABLE treatment_steps (
  object         TEXT NOT NULL CHECK (object <> ''),
  treatment      TEXT NOT NULL CHECK (treatment <> ''),
  step           INTEGER NOT NULL CHECK (step BETWEEN 1 AND 9999),
  place          TEXT NOT NULL CHECK (place <> ''),
  action         TEXT NOT NULL CHECK (action = 'drain' OR action = 'oil mechanism' OR action = 'operate' OR action = 'wrap' OR action = 'display outdoors' OR action = 'dust' OR action = 'dry sponge' OR action = 'wash' OR action = 'aqueous' OR action = 'solvent' OR action = 'wax' OR action = 'retouch' OR action = 'facing' OR action = 'consolidate' OR action = 'lay flakes' OR action = 'gild' OR action = 'scrape' OR action = 'abrade' OR action = 'polish' OR action = 'heat' OR action = 'laser' OR action = 'steam' OR action = 'reduce corrosion' OR action = 'fix to' OR action = 'fill' OR action = 'strip' OR action = 'blast' OR action = 'dry ice' OR action = 'electrolytic' OR action = 'replace' OR action = 'plate' OR action = 'weld' OR action = 'coat' OR action = 'dismantle' OR action = 'other'),
  agent          TEXT,
  ph             REAL CHECK (ph BETWEEN 0.0 AND 14.0),
  application    TEXT CHECK (application = 'spray' OR application = 'rolled swab' OR application = 'cloth' OR application = 'sponge' OR application = 'rubbed swab' OR application = 'brush' OR application = 'tissue' OR application = 'gel' OR application = 'poultice' OR application = 'immersion'),
  removed        TEXT,
  stopped_at     TEXT,
  adds           TEXT,
  adds_binder    TEXT CHECK (adds_binder = 'oil' OR adds_binder = 'oleoresin' OR adds_binder = 'stoved enamel' OR adds_binder = 'vitreous enamel' OR adds_binder = 'alkyd' OR adds_binder = 'cellulose nitrate' OR adds_binder = 'cellulose ester dope' OR adds_binder = 'shellac' OR adds_binder = 'natural resin' OR adds_binder = 'Asian lacquer' OR adds_binder = 'bitumen' OR adds_binder = 'phenolic' OR adds_binder = 'acrylic' OR adds_binder = 'acrylic dispersion' OR adds_binder = 'polyvinyl acetate' OR adds_binder = 'polyurethane' OR adds_binder = 'epoxy' OR adds_binder = 'chlorinated rubber' OR adds_binder = 'silicone' OR adds_binder = 'vinyl film' OR adds_binder = 'wax' OR adds_binder = 'glue' OR adds_binder = 'casein' OR adds_binder = 'egg' OR adds_binder = 'gum' OR adds_binder = 'mixed' OR adds_binder = 'unknown'),
  removable_with TEXT,
  area_m2        REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000.0),
  hours          REAL CHECK (hours BETWEEN 0.0 AND 1000000.0),
  source         TEXT,
  audience       TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes          TEXT,
  survey         TEXT NOT NULL,
  from_file      TEXT NOT NULL,
  from_row       INTEGER,
  revision       INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change         INTEGER NOT NULL,
  withdrawn      INTEGER,
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

-- What somebody recommended, whether or not it was ever done.
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
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Something asserted by a document or a person, and what evidence made of it.
CREATE TABLE claims (
  object      TEXT NOT NULL CHECK (object <> ''),
  claim       TEXT NOT NULL CHECK (claim <> ''),
  statement   TEXT NOT NULL CHECK (statement <> ''),
  status      TEXT NOT NULL CHECK (status = 'untested' OR status = 'supported' OR status = 'confirmed' OR status = 'refuted'),
  place       TEXT,
  decoration  TEXT,
  resolved_by TEXT,
  source      TEXT,
  audience    TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes       TEXT,
  survey      TEXT NOT NULL,
  from_file   TEXT NOT NULL,
  from_row    INTEGER,
  revision    INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change      INTEGER NOT NULL,
  withdrawn   INTEGER,
  PRIMARY KEY (object, claim),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, place) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- Something in or on the object that can hurt people; one row per dated state.
CREATE TABLE hazards (
  object               TEXT NOT NULL CHECK (object <> ''),
  hazard               TEXT NOT NULL CHECK (hazard <> ''),
  kind                 TEXT NOT NULL CHECK (kind <> ''),
  status               TEXT NOT NULL CHECK (status = 'suspected' OR status = 'confirmed' OR status = 'controlled' OR status = 'not found'),
  component            TEXT,
  observed_on          TEXT NOT NULL,
  observed_on_earliest TEXT CHECK ((observed_on = '') = (observed_on_earliest IS NULL)),
  observed_on_latest   TEXT CHECK ((observed_on = '') = (observed_on_latest IS NULL)) CHECK (observed_on_earliest <= observed_on_latest),
  basis                TEXT,
  source               TEXT,
  audience             TEXT CHECK (audience = 'public' OR audience = 'staff'),
  notes                TEXT,
  survey               TEXT NOT NULL,
  from_file            TEXT NOT NULL,
  from_row             INTEGER,
  revision             INTEGER NOT NULL DEFAULT 1 CHECK (revision >= 1),
  change               INTEGER NOT NULL,
  withdrawn            INTEGER,
  PRIMARY KEY (object, hazard, observed_on),
  CHECK (rowid > 0),
  FOREIGN KEY (object) REFERENCES objects (object) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, component) REFERENCES places (object, place) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (object, source) REFERENCES sources (object, source) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (survey) REFERENCES surveys (code) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED,
  FOREIGN KEY (withdrawn) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;

-- An image file with its lighting, view, stage, scale and maker.
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

-- Derived: one document per object, as the rules read it.
CREATE TABLE facts (
  object   TEXT NOT NULL,
  document TEXT NOT NULL CHECK (json_valid(document)),
  sha256   TEXT NOT NULL CHECK (length(sha256) = 64),
  engine   TEXT NOT NULL,
  stale    INTEGER NOT NULL DEFAULT 0 CHECK (stale = 0 OR stale = 1),
  PRIMARY KEY (object),
  CHECK (rowid > 0)
) STRICT;

-- Derived: what survives of the first finish on each object.
CREATE TABLE survival_objects (
  object              TEXT NOT NULL,
  area_m2             REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000000000000.0),
  surviving_low_m2    REAL CHECK (surviving_low_m2 BETWEEN 0.0 AND 1000000000000000.0),
  surviving_middle_m2 REAL CHECK (surviving_middle_m2 BETWEEN 0.0 AND 1000000000000000.0),
  surviving_high_m2   REAL CHECK (surviving_high_m2 BETWEEN 0.0 AND 1000000000000000.0),
  places              INTEGER NOT NULL CHECK (places >= 0),
  unmeasured_places   INTEGER NOT NULL CHECK (unmeasured_places >= 0),
  unexamined_places   INTEGER NOT NULL CHECK (unexamined_places >= 0),
  present             INTEGER NOT NULL CHECK (present >= 0),
  read                INTEGER NOT NULL CHECK (read >= 0),
  traces              INTEGER NOT NULL CHECK (traces >= 0),
  as_of               TEXT,
  engine              TEXT NOT NULL,
  PRIMARY KEY (object),
  CHECK (rowid > 0)
) STRICT;

-- Derived: what survives of the first finish at each place.
CREATE TABLE survival_places (
  object       TEXT NOT NULL,
  place        TEXT NOT NULL,
  component    TEXT,
  state        TEXT NOT NULL CHECK (state = 'original exposed' OR state = 'original covered' OR state = 'original fragmentary' OR state = 'original not found' OR state = 'original removed' OR state = 'not examined'),
  area_m2      REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000000000000.0),
  share_low    REAL CHECK (share_low BETWEEN 0.0 AND 1.0),
  share_middle REAL CHECK (share_middle BETWEEN 0.0 AND 1.0),
  share_high   REAL CHECK (share_high BETWEEN 0.0 AND 1.0),
  present      INTEGER NOT NULL CHECK (present >= 0),
  read         INTEGER NOT NULL CHECK (read >= 0),
  traces       INTEGER NOT NULL CHECK (traces >= 0),
  as_of        TEXT,
  engine       TEXT NOT NULL,
  PRIMARY KEY (object, place),
  CHECK (rowid > 0)
) STRICT;

-- Derived: what survives of each scheme at each place.
CREATE TABLE survival_schemes (
  object       TEXT NOT NULL,
  place        TEXT NOT NULL,
  scheme       TEXT NOT NULL,
  state        TEXT NOT NULL CHECK (state = 'original exposed' OR state = 'original covered' OR state = 'original fragmentary' OR state = 'original not found' OR state = 'original removed' OR state = 'not examined'),
  share_low    REAL CHECK (share_low BETWEEN 0.0 AND 1.0),
  share_middle REAL CHECK (share_middle BETWEEN 0.0 AND 1.0),
  share_high   REAL CHECK (share_high BETWEEN 0.0 AND 1.0),
  present      INTEGER NOT NULL CHECK (present >= 0),
  read         INTEGER NOT NULL CHECK (read >= 0),
  traces       INTEGER NOT NULL CHECK (traces >= 0),
  as_of        TEXT,
  engine       TEXT NOT NULL,
  PRIMARY KEY (object, place, scheme),
  CHECK (rowid > 0)
) STRICT;

-- Derived: what survives of each decoration; never added to the object's total.
CREATE TABLE survival_decorations (
  object       TEXT NOT NULL,
  decoration   TEXT NOT NULL,
  place        TEXT NOT NULL,
  state        TEXT NOT NULL CHECK (state = 'original exposed' OR state = 'original covered' OR state = 'original fragmentary' OR state = 'original not found' OR state = 'original removed' OR state = 'not examined'),
  area_m2      REAL CHECK (area_m2 BETWEEN 0.0 AND 1000000000000000.0),
  share_low    REAL CHECK (share_low BETWEEN 0.0 AND 1.0),
  share_middle REAL CHECK (share_middle BETWEEN 0.0 AND 1.0),
  share_high   REAL CHECK (share_high BETWEEN 0.0 AND 1.0),
  present      INTEGER NOT NULL CHECK (present >= 0),
  read         INTEGER NOT NULL CHECK (read >= 0),
  traces       INTEGER NOT NULL CHECK (traces >= 0),
  as_of        TEXT,
  engine       TEXT NOT NULL,
  PRIMARY KEY (object, decoration),
  CHECK (rowid > 0)
) STRICT;

-- Derived: the threats found by the program, each with the records behind it.
CREATE TABLE risks (
  object           TEXT NOT NULL,
  number           INTEGER NOT NULL CHECK (number >= 1),
  threat           TEXT NOT NULL,
  message          TEXT NOT NULL,
  remedy           TEXT NOT NULL,
  evidence         TEXT NOT NULL CHECK (json_valid(evidence)),
  magnitude_low    REAL CHECK (magnitude_low BETWEEN 0.0 AND 15.0),
  magnitude_middle REAL CHECK (magnitude_middle BETWEEN 0.0 AND 15.0),
  magnitude_high   REAL CHECK (magnitude_high BETWEEN 0.0 AND 15.0),
  engine           TEXT NOT NULL,
  PRIMARY KEY (object, number),
  CHECK (rowid > 0)
) STRICT;

-- Derived: the words by which each object is searched.
CREATE TABLE documents (
  id     INTEGER PRIMARY KEY CHECK (id > 0),
  object TEXT NOT NULL,
  title  TEXT NOT NULL,
  words  TEXT NOT NULL,
  facets TEXT NOT NULL
) STRICT;

-- The full-text index over documents.
CREATE VIRTUAL TABLE documents_fts USING fts5 (
  title, words, facets, content='documents', content_rowid='id', prefix='3'
);

CREATE INDEX changes_open ON changes (number) WHERE hash IS NULL;
CREATE INDEX history_of_record ON history (sheet, key);
CREATE INDEX history_by_change ON history (change);
CREATE INDEX files_by_change ON files (change);
CREATE INDEX file_uses_by_change ON file_uses (change);
CREATE INDEX warnings_of_record ON warnings (sheet, key);
CREATE INDEX warnings_by_change ON warnings (change);
CREATE INDEX unmapped_cells_by_change ON unmapped_cells (change);
CREATE INDEX surveys_withdrawn ON surveys (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX objects_withdrawn ON objects (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX objects_loose ON objects (replace(replace(lower(object), ' ', ''), '0', ''));
CREATE INDEX objects_beyond_ascii ON objects (object) WHERE object GLOB '*[^ -~]*';
CREATE INDEX sources_withdrawn ON sources (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX components_withdrawn ON components (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX drawings_withdrawn ON drawings (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX zones_withdrawn ON zones (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX schemes_withdrawn ON schemes (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX samples_withdrawn ON samples (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX layers_withdrawn ON layers (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX analyses_withdrawn ON analyses (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX decorations_withdrawn ON decorations (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX reserves_withdrawn ON reserves (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX tests_withdrawn ON tests (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX responses_withdrawn ON responses (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX conditions_withdrawn ON conditions (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX proposals_withdrawn ON proposals (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX proposal_steps_withdrawn ON proposal_steps (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX treatments_withdrawn ON treatments (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX treatment_steps_withdrawn ON treatment_steps (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX advice_withdrawn ON advice (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX claims_withdrawn ON claims (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX hazards_withdrawn ON hazards (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX pictures_withdrawn ON pictures (withdrawn) WHERE withdrawn IS NOT NULL;
CREATE INDEX facts_stale ON facts (object) WHERE stale = 1;
CREATE INDEX survival_places_state ON survival_places (state);
CREATE UNIQUE INDEX documents_object ON documents (object);

-- Parts and zones in account, and `all` for each object in account.
CREATE VIEW live_places AS
SELECT * FROM places AS p
WHERE CASE p.kind
  WHEN 'all' THEN EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = p.object)
  WHEN 'zone' THEN EXISTS (SELECT 1 FROM live_zones AS t WHERE t.object = p.object AND t.zone = p.place)
  ELSE EXISTS (SELECT 1 FROM live_components AS t WHERE t.object = p.object AND t.component = p.place)
END;

CREATE VIEW live_surveys AS
SELECT * FROM surveys AS r
WHERE r.withdrawn IS NULL;

CREATE VIEW live_objects AS
SELECT * FROM objects AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL);

CREATE VIEW live_sources AS
SELECT * FROM sources AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_components AS
SELECT * FROM components AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_drawings AS
SELECT * FROM drawings AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_zones AS
SELECT * FROM zones AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object)
  AND EXISTS (SELECT 1 FROM live_components AS t WHERE t.object = r.object AND t.component = r.component);

CREATE VIEW live_schemes AS
SELECT * FROM schemes AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_samples AS
SELECT * FROM samples AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place);

CREATE VIEW live_layers AS
SELECT * FROM layers AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_samples AS t WHERE t.object = r.object AND t.sample = r.sample);

CREATE VIEW live_analyses AS
SELECT * FROM analyses AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object)
  AND (r.place IS NULL OR EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place))
  AND (r.sample IS NULL OR EXISTS (SELECT 1 FROM live_samples AS t WHERE t.object = r.object AND t.sample = r.sample))
  AND (r.position IS NULL OR EXISTS (SELECT 1 FROM live_layers AS t WHERE t.object = r.object AND t.sample = r.sample AND t.position = r.position));

CREATE VIEW live_decorations AS
SELECT * FROM decorations AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place);

CREATE VIEW live_reserves AS
SELECT * FROM reserves AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_tests AS
SELECT * FROM tests AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place);

CREATE VIEW live_responses AS
SELECT * FROM responses AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_tests AS t WHERE t.object = r.object AND t.test = r.test)
  AND (r.scheme = '' OR EXISTS (SELECT 1 FROM live_schemes AS t WHERE t.object = r.object AND t.scheme = r.scheme))
  AND (r.sample = '' OR EXISTS (SELECT 1 FROM live_samples AS t WHERE t.object = r.object AND t.sample = r.sample))
  AND (r.position = 0 OR EXISTS (SELECT 1 FROM live_layers AS t WHERE t.object = r.object AND t.sample = r.sample AND t.position = r.position))
  AND (r.decoration = '' OR EXISTS (SELECT 1 FROM live_decorations AS t WHERE t.object = r.object AND t.decoration = r.decoration));

CREATE VIEW live_conditions AS
SELECT * FROM conditions AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place);

CREATE VIEW live_proposals AS
SELECT * FROM proposals AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_proposal_steps AS
SELECT * FROM proposal_steps AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_proposals AS t WHERE t.object = r.object AND t.proposal = r.proposal);

CREATE VIEW live_treatments AS
SELECT * FROM treatments AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_treatment_steps AS
SELECT * FROM treatment_steps AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_treatments AS t WHERE t.object = r.object AND t.treatment = r.treatment)
  AND EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place);

CREATE VIEW live_advice AS
SELECT * FROM advice AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_claims AS
SELECT * FROM claims AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_hazards AS
SELECT * FROM hazards AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object);

CREATE VIEW live_pictures AS
SELECT * FROM pictures AS r
WHERE r.withdrawn IS NULL
  AND r.survey NOT IN (SELECT code FROM surveys WHERE withdrawn IS NOT NULL)
  AND EXISTS (SELECT 1 FROM live_objects AS t WHERE t.object = r.object)
  AND (r.place IS NULL OR EXISTS (SELECT 1 FROM live_places AS t WHERE t.object = r.object AND t.place = r.place))
  AND (r.sample IS NULL OR EXISTS (SELECT 1 FROM live_samples AS t WHERE t.object = r.object AND t.sample = r.sample))
  AND (r.test IS NULL OR EXISTS (SELECT 1 FROM live_tests AS t WHERE t.object = r.object AND t.test = r.test))
  AND (r.treatment IS NULL OR EXISTS (SELECT 1 FROM live_treatments AS t WHERE t.object = r.object AND t.treatment = r.treatment));

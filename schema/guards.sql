-- The guards of a firstcoat database: made again after every migration, because a rebuilt table loses them.
-- INSERT OR REPLACE removes rows without asking delete triggers, so inserts over an existing key or row
-- number are refused before they happen.

CREATE TRIGGER surveys_no_delete BEFORE DELETE ON surveys
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from surveys: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER surveys_no_overwrite BEFORE INSERT ON surveys
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM surveys WHERE code = NEW.code)
BEGIN
  SELECT RAISE(ABORT, 'A record of surveys with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER surveys_history AFTER UPDATE ON surveys
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of surveys stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.code IS NOT OLD.code;
  SELECT RAISE(ABORT, 'An update of surveys needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('survey', OLD.code, OLD.revision, OLD.code,
    printf('{"code":%s,"title":%s,"lead":%s,"started":%s,"started_earliest":%s,"started_latest":%s,"institution":%s,"ended":%s,"ended_earliest":%s,"ended_latest":%s,"scope":%s,"method":%s,"invented":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.code),
      json_quote(OLD.title),
      json_quote(OLD.lead),
      json_quote(OLD.started),
      json_quote(OLD.started_earliest),
      json_quote(OLD.started_latest),
      json_quote(OLD.institution),
      json_quote(OLD.ended),
      json_quote(OLD.ended_earliest),
      json_quote(OLD.ended_latest),
      json_quote(OLD.scope),
      json_quote(OLD.method),
      json_quote(OLD.invented),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER objects_no_delete BEFORE DELETE ON objects
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from objects: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER objects_no_overwrite BEFORE INSERT ON objects
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM objects WHERE object = NEW.object)
BEGIN
  SELECT RAISE(ABORT, 'A record of objects with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER objects_history AFTER UPDATE ON objects
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of objects stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object;
  SELECT RAISE(ABORT, 'An update of objects needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('objects', OLD.object, OLD.revision, OLD.survey,
    printf('{"object":%s,"title":%s,"kind":%s,"maker":%s,"made":%s,"made_earliest":%s,"made_latest":%s,"materials":%s,"dimensions":%s,"part_of":%s,"other_numbers":%s,"owner":%s,"status":%s,"value_points":%s,"surroundings":%s,"listed_condition":%s,"public_place":%s,"store_place":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.title),
      json_quote(OLD.kind),
      json_quote(OLD.maker),
      json_quote(OLD.made),
      json_quote(OLD.made_earliest),
      json_quote(OLD.made_latest),
      json_quote(OLD.materials),
      json_quote(OLD.dimensions),
      json_quote(OLD.part_of),
      json_quote(OLD.other_numbers),
      json_quote(OLD.owner),
      json_quote(OLD.status),
      CASE WHEN OLD.value_points IS NULL THEN 'null' ELSE printf('%!.17g', OLD.value_points) END,
      json_quote(OLD.surroundings),
      json_quote(OLD.listed_condition),
      json_quote(OLD.public_place),
      json_quote(OLD.store_place),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER sources_no_delete BEFORE DELETE ON sources
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from sources: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER sources_no_overwrite BEFORE INSERT ON sources
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM sources WHERE object = NEW.object AND source = NEW.source)
BEGIN
  SELECT RAISE(ABORT, 'A record of sources with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER sources_history AFTER UPDATE ON sources
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of sources stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.source IS NOT OLD.source;
  SELECT RAISE(ABORT, 'An update of sources needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('sources', OLD.object || '/' || OLD.source, OLD.revision, OLD.survey,
    printf('{"object":%s,"kind":%s,"title":%s,"dated":%s,"dated_earliest":%s,"dated_latest":%s,"kept_at":%s,"file":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.kind),
      json_quote(OLD.title),
      json_quote(OLD.dated),
      json_quote(OLD.dated_earliest),
      json_quote(OLD.dated_latest),
      json_quote(OLD.kept_at),
      json_quote(OLD.file),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER components_no_delete BEFORE DELETE ON components
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from components: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER components_no_overwrite BEFORE INSERT ON components
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM components WHERE object = NEW.object AND component = NEW.component AND observed_on = NEW.observed_on)
BEGIN
  SELECT RAISE(ABORT, 'A record of components with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER components_history AFTER UPDATE ON components
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of components stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.component IS NOT OLD.component OR NEW.observed_on IS NOT OLD.observed_on;
  SELECT RAISE(ABORT, 'An update of components needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('components', OLD.object || '/' || OLD.component || CASE WHEN OLD.observed_on = '' THEN '' ELSE '/' || OLD.observed_on END, OLD.revision, OLD.survey,
    printf('{"object":%s,"component":%s,"name":%s,"parent":%s,"support":%s,"area_m2":%s,"origin":%s,"fitted":%s,"fitted_earliest":%s,"fitted_latest":%s,"presence":%s,"observed_on":%s,"observed_on_earliest":%s,"observed_on_latest":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.component),
      json_quote(OLD.name),
      json_quote(OLD.parent),
      json_quote(OLD.support),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.origin),
      json_quote(OLD.fitted),
      json_quote(OLD.fitted_earliest),
      json_quote(OLD.fitted_latest),
      json_quote(OLD.presence),
      json_quote(OLD.observed_on),
      json_quote(OLD.observed_on_earliest),
      json_quote(OLD.observed_on_latest),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER drawings_no_delete BEFORE DELETE ON drawings
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from drawings: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER drawings_no_overwrite BEFORE INSERT ON drawings
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM drawings WHERE object = NEW.object AND drawing = NEW.drawing)
BEGIN
  SELECT RAISE(ABORT, 'A record of drawings with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER drawings_history AFTER UPDATE ON drawings
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of drawings stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.drawing IS NOT OLD.drawing;
  SELECT RAISE(ABORT, 'An update of drawings needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('drawings', OLD.object || '/' || OLD.drawing, OLD.revision, OLD.survey,
    printf('{"object":%s,"drawing":%s,"file":%s,"title":%s,"mm_per_unit":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.drawing),
      json_quote(OLD.file),
      json_quote(OLD.title),
      CASE WHEN OLD.mm_per_unit IS NULL THEN 'null' ELSE printf('%!.17g', OLD.mm_per_unit) END,
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER zones_no_delete BEFORE DELETE ON zones
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from zones: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER zones_no_overwrite BEFORE INSERT ON zones
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM zones WHERE object = NEW.object AND zone = NEW.zone)
BEGIN
  SELECT RAISE(ABORT, 'A record of zones with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER zones_history AFTER UPDATE ON zones
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of zones stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.zone IS NOT OLD.zone;
  SELECT RAISE(ABORT, 'An update of zones needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('zones', OLD.object || '/' || OLD.zone, OLD.revision, OLD.survey,
    printf('{"object":%s,"zone":%s,"component":%s,"name":%s,"within":%s,"drawing":%s,"outline":%s,"area_m2":%s,"area_basis":%s,"visibility":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.zone),
      json_quote(OLD.component),
      json_quote(OLD.name),
      json_quote(OLD.within),
      json_quote(OLD.drawing),
      json_quote(OLD.outline),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.area_basis),
      json_quote(OLD.visibility),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER schemes_no_delete BEFORE DELETE ON schemes
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from schemes: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER schemes_no_overwrite BEFORE INSERT ON schemes
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM schemes WHERE object = NEW.object AND scheme = NEW.scheme)
BEGIN
  SELECT RAISE(ABORT, 'A record of schemes with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER schemes_history AFTER UPDATE ON schemes
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of schemes stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.scheme IS NOT OLD.scheme;
  SELECT RAISE(ABORT, 'An update of schemes needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('schemes', OLD.object || '/' || OLD.scheme, OLD.revision, OLD.survey,
    printf('{"object":%s,"scheme":%s,"name":%s,"period":%s,"rank":%s,"made":%s,"made_earliest":%s,"made_latest":%s,"certainty":%s,"basis":%s,"component":%s,"keep":%s,"keep_why":%s,"decided_by":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.scheme),
      json_quote(OLD.name),
      json_quote(OLD.period),
      CASE WHEN OLD.rank IS NULL THEN 'null' ELSE printf('%!.17g', OLD.rank) END,
      json_quote(OLD.made),
      json_quote(OLD.made_earliest),
      json_quote(OLD.made_latest),
      json_quote(OLD.certainty),
      json_quote(OLD.basis),
      json_quote(OLD.component),
      json_quote(OLD.keep),
      json_quote(OLD.keep_why),
      json_quote(OLD.decided_by),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER samples_no_delete BEFORE DELETE ON samples
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from samples: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER samples_no_overwrite BEFORE INSERT ON samples
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM samples WHERE object = NEW.object AND sample = NEW.sample)
BEGIN
  SELECT RAISE(ABORT, 'A record of samples with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER samples_history AFTER UPDATE ON samples
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of samples stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.sample IS NOT OLD.sample;
  SELECT RAISE(ABORT, 'An update of samples needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('samples', OLD.object || '/' || OLD.sample, OLD.revision, OLD.survey,
    printf('{"object":%s,"sample":%s,"place":%s,"method":%s,"x":%s,"y":%s,"taken_on":%s,"taken_on_earliest":%s,"taken_on_latest":%s,"taken_by":%s,"mount":%s,"instrument":%s,"kept_at":%s,"chosen":%s,"counted_from":%s,"extent":%s,"reaches_support":%s,"total_um":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.sample),
      json_quote(OLD.place),
      json_quote(OLD.method),
      CASE WHEN OLD.x IS NULL THEN 'null' ELSE printf('%!.17g', OLD.x) END,
      CASE WHEN OLD.y IS NULL THEN 'null' ELSE printf('%!.17g', OLD.y) END,
      json_quote(OLD.taken_on),
      json_quote(OLD.taken_on_earliest),
      json_quote(OLD.taken_on_latest),
      json_quote(OLD.taken_by),
      json_quote(OLD.mount),
      json_quote(OLD.instrument),
      json_quote(OLD.kept_at),
      json_quote(OLD.chosen),
      json_quote(OLD.counted_from),
      json_quote(OLD.extent),
      json_quote(OLD.reaches_support),
      CASE WHEN OLD.total_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.total_um) END,
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER layers_no_delete BEFORE DELETE ON layers
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from layers: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER layers_no_overwrite BEFORE INSERT ON layers
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM layers WHERE object = NEW.object AND sample = NEW.sample AND position = NEW.position)
BEGIN
  SELECT RAISE(ABORT, 'A record of layers with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER layers_history AFTER UPDATE ON layers
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of layers stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.sample IS NOT OLD.sample OR NEW.position IS NOT OLD.position;
  SELECT RAISE(ABORT, 'An update of layers needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('layers', OLD.object || '/' || OLD.sample || '/' || OLD.position, OLD.revision, OLD.survey,
    printf('{"object":%s,"sample":%s,"position":%s,"role":%s,"binder":%s,"binder_basis":%s,"colour":%s,"munsell":%s,"lab_l":%s,"lab_a":%s,"lab_b":%s,"gloss_gu":%s,"thickness_um":%s,"thickness_min_um":%s,"thickness_max_um":%s,"fluorescence":%s,"boundary":%s,"scheme":%s,"period":%s,"certainty":%s,"coverage":%s,"coverage_pct":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.sample),
      json_quote(OLD.position),
      json_quote(OLD.role),
      json_quote(OLD.binder),
      json_quote(OLD.binder_basis),
      json_quote(OLD.colour),
      json_quote(OLD.munsell),
      CASE WHEN OLD.lab_l IS NULL THEN 'null' ELSE printf('%!.17g', OLD.lab_l) END,
      CASE WHEN OLD.lab_a IS NULL THEN 'null' ELSE printf('%!.17g', OLD.lab_a) END,
      CASE WHEN OLD.lab_b IS NULL THEN 'null' ELSE printf('%!.17g', OLD.lab_b) END,
      CASE WHEN OLD.gloss_gu IS NULL THEN 'null' ELSE printf('%!.17g', OLD.gloss_gu) END,
      CASE WHEN OLD.thickness_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.thickness_um) END,
      CASE WHEN OLD.thickness_min_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.thickness_min_um) END,
      CASE WHEN OLD.thickness_max_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.thickness_max_um) END,
      json_quote(OLD.fluorescence),
      json_quote(OLD.boundary),
      json_quote(OLD.scheme),
      json_quote(OLD.period),
      json_quote(OLD.certainty),
      json_quote(OLD.coverage),
      CASE WHEN OLD.coverage_pct IS NULL THEN 'null' ELSE printf('%!.17g', OLD.coverage_pct) END,
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER analyses_no_delete BEFORE DELETE ON analyses
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from analyses: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER analyses_no_overwrite BEFORE INSERT ON analyses
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM analyses WHERE object = NEW.object AND analysis = NEW.analysis)
BEGIN
  SELECT RAISE(ABORT, 'A record of analyses with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER analyses_history AFTER UPDATE ON analyses
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of analyses stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.analysis IS NOT OLD.analysis;
  SELECT RAISE(ABORT, 'An update of analyses needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('analyses', OLD.object || '/' || OLD.analysis, OLD.revision, OLD.survey,
    printf('{"object":%s,"analysis":%s,"technique":%s,"result":%s,"sample":%s,"position":%s,"place":%s,"material":%s,"analysed_on":%s,"analysed_on_earliest":%s,"analysed_on_latest":%s,"analysed_by":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.analysis),
      json_quote(OLD.technique),
      json_quote(OLD.result),
      json_quote(OLD.sample),
      json_quote(OLD.position),
      json_quote(OLD.place),
      json_quote(OLD.material),
      json_quote(OLD.analysed_on),
      json_quote(OLD.analysed_on_earliest),
      json_quote(OLD.analysed_on_latest),
      json_quote(OLD.analysed_by),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER decorations_no_delete BEFORE DELETE ON decorations
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from decorations: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER decorations_no_overwrite BEFORE INSERT ON decorations
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM decorations WHERE object = NEW.object AND decoration = NEW.decoration AND observed_on = NEW.observed_on)
BEGIN
  SELECT RAISE(ABORT, 'A record of decorations with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER decorations_history AFTER UPDATE ON decorations
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of decorations stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.decoration IS NOT OLD.decoration OR NEW.observed_on IS NOT OLD.observed_on;
  SELECT RAISE(ABORT, 'An update of decorations needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('decorations', OLD.object || '/' || OLD.decoration || CASE WHEN OLD.observed_on = '' THEN '' ELSE '/' || OLD.observed_on END, OLD.revision, OLD.survey,
    printf('{"object":%s,"decoration":%s,"place":%s,"kind":%s,"scheme":%s,"lies":%s,"description":%s,"state":%s,"observed_on":%s,"observed_on_earliest":%s,"observed_on_latest":%s,"area_m2":%s,"certainty":%s,"basis":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.decoration),
      json_quote(OLD.place),
      json_quote(OLD.kind),
      json_quote(OLD.scheme),
      json_quote(OLD.lies),
      json_quote(OLD.description),
      json_quote(OLD.state),
      json_quote(OLD.observed_on),
      json_quote(OLD.observed_on_earliest),
      json_quote(OLD.observed_on_latest),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.certainty),
      json_quote(OLD.basis),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER reserves_no_delete BEFORE DELETE ON reserves
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from reserves: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER reserves_no_overwrite BEFORE INSERT ON reserves
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM reserves WHERE object = NEW.object AND reserve = NEW.reserve)
BEGIN
  SELECT RAISE(ABORT, 'A record of reserves with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER reserves_history AFTER UPDATE ON reserves
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of reserves stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.reserve IS NOT OLD.reserve;
  SELECT RAISE(ABORT, 'An update of reserves needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('reserves', OLD.object || '/' || OLD.reserve, OLD.revision, OLD.survey,
    printf('{"object":%s,"reserve":%s,"place":%s,"kind":%s,"outline":%s,"area_m2":%s,"shows":%s,"made_on":%s,"made_on_earliest":%s,"made_on_latest":%s,"made_by":%s,"until":%s,"until_earliest":%s,"until_latest":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.reserve),
      json_quote(OLD.place),
      json_quote(OLD.kind),
      json_quote(OLD.outline),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.shows),
      json_quote(OLD.made_on),
      json_quote(OLD.made_on_earliest),
      json_quote(OLD.made_on_latest),
      json_quote(OLD.made_by),
      json_quote(OLD.until),
      json_quote(OLD.until_earliest),
      json_quote(OLD.until_latest),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER tests_no_delete BEFORE DELETE ON tests
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from tests: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER tests_no_overwrite BEFORE INSERT ON tests
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM tests WHERE object = NEW.object AND test = NEW.test)
BEGIN
  SELECT RAISE(ABORT, 'A record of tests with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER tests_history AFTER UPDATE ON tests
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of tests stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.test IS NOT OLD.test;
  SELECT RAISE(ABORT, 'An update of tests needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('tests', OLD.object || '/' || OLD.test, OLD.revision, OLD.survey,
    printf('{"object":%s,"test":%s,"place":%s,"agent":%s,"action":%s,"sample":%s,"ph":%s,"conductivity_mscm":%s,"application":%s,"dwell_s":%s,"passes":%s,"temperature_c":%s,"arrested_with":%s,"looked_with":%s,"after_drying":%s,"finish":%s,"tested_on":%s,"tested_on_earliest":%s,"tested_on_latest":%s,"tested_by":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.test),
      json_quote(OLD.place),
      json_quote(OLD.agent),
      json_quote(OLD.action),
      json_quote(OLD.sample),
      CASE WHEN OLD.ph IS NULL THEN 'null' ELSE printf('%!.17g', OLD.ph) END,
      CASE WHEN OLD.conductivity_mscm IS NULL THEN 'null' ELSE printf('%!.17g', OLD.conductivity_mscm) END,
      json_quote(OLD.application),
      CASE WHEN OLD.dwell_s IS NULL THEN 'null' ELSE printf('%!.17g', OLD.dwell_s) END,
      json_quote(OLD.passes),
      CASE WHEN OLD.temperature_c IS NULL THEN 'null' ELSE printf('%!.17g', OLD.temperature_c) END,
      json_quote(OLD.arrested_with),
      json_quote(OLD.looked_with),
      json_quote(OLD.after_drying),
      json_quote(OLD.finish),
      json_quote(OLD.tested_on),
      json_quote(OLD.tested_on_earliest),
      json_quote(OLD.tested_on_latest),
      json_quote(OLD.tested_by),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER responses_no_delete BEFORE DELETE ON responses
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from responses: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER responses_no_overwrite BEFORE INSERT ON responses
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM responses WHERE object = NEW.object AND test = NEW.test AND scheme = NEW.scheme AND role = NEW.role AND sample = NEW.sample AND position = NEW.position AND decoration = NEW.decoration)
BEGIN
  SELECT RAISE(ABORT, 'A record of responses with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER responses_history AFTER UPDATE ON responses
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of responses stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.test IS NOT OLD.test OR NEW.scheme IS NOT OLD.scheme OR NEW.role IS NOT OLD.role OR NEW.sample IS NOT OLD.sample OR NEW.position IS NOT OLD.position OR NEW.decoration IS NOT OLD.decoration;
  SELECT RAISE(ABORT, 'An update of responses needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('responses', OLD.object || '/' || OLD.test || CASE WHEN OLD.scheme = '' AND OLD.role = '' AND OLD.sample = '' AND OLD.position = 0 AND OLD.decoration = '' THEN '' ELSE '/' || OLD.scheme END || CASE WHEN OLD.role = '' AND OLD.sample = '' AND OLD.position = 0 AND OLD.decoration = '' THEN '' ELSE '/' || OLD.role END || CASE WHEN OLD.sample = '' AND OLD.position = 0 AND OLD.decoration = '' THEN '' ELSE '/' || OLD.sample END || CASE WHEN OLD.position = 0 AND OLD.decoration = '' THEN '' ELSE '/' || CASE OLD.position WHEN 0 THEN '' ELSE OLD.position END END || CASE WHEN OLD.decoration = '' THEN '' ELSE '/' || OLD.decoration END, OLD.revision, OLD.survey,
    printf('{"object":%s,"test":%s,"response":%s,"scheme":%s,"role":%s,"sample":%s,"position":%s,"decoration":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.test),
      json_quote(OLD.response),
      json_quote(OLD.scheme),
      json_quote(OLD.role),
      json_quote(OLD.sample),
      json_quote(OLD.position),
      json_quote(OLD.decoration),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER conditions_no_delete BEFORE DELETE ON conditions
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from conditions: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER conditions_no_overwrite BEFORE INSERT ON conditions
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM conditions WHERE object = NEW.object AND place = NEW.place AND phenomenon = NEW.phenomenon AND observed_on = NEW.observed_on AND scheme = NEW.scheme)
BEGIN
  SELECT RAISE(ABORT, 'A record of conditions with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER conditions_history AFTER UPDATE ON conditions
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of conditions stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.place IS NOT OLD.place OR NEW.phenomenon IS NOT OLD.phenomenon OR NEW.observed_on IS NOT OLD.observed_on OR NEW.scheme IS NOT OLD.scheme;
  SELECT RAISE(ABORT, 'An update of conditions needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('conditions', OLD.object || '/' || OLD.place || '/' || OLD.phenomenon || '/' || OLD.observed_on || CASE WHEN OLD.scheme = '' THEN '' ELSE '/' || OLD.scheme END, OLD.revision, OLD.survey,
    printf('{"object":%s,"place":%s,"phenomenon":%s,"observed_on":%s,"observed_on_earliest":%s,"observed_on_latest":%s,"severity":%s,"extent_pct":%s,"active":%s,"scheme":%s,"observed_by":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.place),
      json_quote(OLD.phenomenon),
      json_quote(OLD.observed_on),
      json_quote(OLD.observed_on_earliest),
      json_quote(OLD.observed_on_latest),
      json_quote(OLD.severity),
      CASE WHEN OLD.extent_pct IS NULL THEN 'null' ELSE printf('%!.17g', OLD.extent_pct) END,
      json_quote(OLD.active),
      json_quote(OLD.scheme),
      json_quote(OLD.observed_by),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER proposals_no_delete BEFORE DELETE ON proposals
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from proposals: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER proposals_no_overwrite BEFORE INSERT ON proposals
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM proposals WHERE object = NEW.object AND proposal = NEW.proposal)
BEGIN
  SELECT RAISE(ABORT, 'A record of proposals with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER proposals_history AFTER UPDATE ON proposals
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of proposals stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.proposal IS NOT OLD.proposal;
  SELECT RAISE(ABORT, 'An update of proposals needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('proposals', OLD.object || '/' || OLD.proposal, OLD.revision, OLD.survey,
    printf('{"object":%s,"proposal":%s,"title":%s,"proposed_by":%s,"proposed_on":%s,"proposed_on_earliest":%s,"proposed_on_latest":%s,"purpose":%s,"planned_for":%s,"planned_for_earliest":%s,"planned_for_latest":%s,"instead_of":%s,"permission":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.proposal),
      json_quote(OLD.title),
      json_quote(OLD.proposed_by),
      json_quote(OLD.proposed_on),
      json_quote(OLD.proposed_on_earliest),
      json_quote(OLD.proposed_on_latest),
      json_quote(OLD.purpose),
      json_quote(OLD.planned_for),
      json_quote(OLD.planned_for_earliest),
      json_quote(OLD.planned_for_latest),
      json_quote(OLD.instead_of),
      json_quote(OLD.permission),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER proposal_steps_no_delete BEFORE DELETE ON proposal_steps
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from proposal_steps: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER proposal_steps_no_overwrite BEFORE INSERT ON proposal_steps
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM proposal_steps WHERE object = NEW.object AND proposal = NEW.proposal AND step = NEW.step)
BEGIN
  SELECT RAISE(ABORT, 'A record of proposal_steps with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER proposal_steps_history AFTER UPDATE ON proposal_steps
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of proposal_steps stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.proposal IS NOT OLD.proposal OR NEW.step IS NOT OLD.step;
  SELECT RAISE(ABORT, 'An update of proposal_steps needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('proposal_steps', OLD.object || '/' || OLD.proposal || '/' || OLD.step, OLD.revision, OLD.survey,
    printf('{"object":%s,"proposal":%s,"step":%s,"place":%s,"action":%s,"agent":%s,"ph":%s,"conductivity_mscm":%s,"application":%s,"dwell_s":%s,"passes":%s,"temperature_c":%s,"depth_um":%s,"depth_sd_um":%s,"removes":%s,"stop_at":%s,"arrest_with":%s,"adds":%s,"adds_binder":%s,"adds_gloss_gu":%s,"removable_with":%s,"spares":%s,"area_m2":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.proposal),
      json_quote(OLD.step),
      json_quote(OLD.place),
      json_quote(OLD.action),
      json_quote(OLD.agent),
      CASE WHEN OLD.ph IS NULL THEN 'null' ELSE printf('%!.17g', OLD.ph) END,
      CASE WHEN OLD.conductivity_mscm IS NULL THEN 'null' ELSE printf('%!.17g', OLD.conductivity_mscm) END,
      json_quote(OLD.application),
      CASE WHEN OLD.dwell_s IS NULL THEN 'null' ELSE printf('%!.17g', OLD.dwell_s) END,
      json_quote(OLD.passes),
      CASE WHEN OLD.temperature_c IS NULL THEN 'null' ELSE printf('%!.17g', OLD.temperature_c) END,
      CASE WHEN OLD.depth_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.depth_um) END,
      CASE WHEN OLD.depth_sd_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.depth_sd_um) END,
      json_quote(OLD.removes),
      json_quote(OLD.stop_at),
      json_quote(OLD.arrest_with),
      json_quote(OLD.adds),
      json_quote(OLD.adds_binder),
      CASE WHEN OLD.adds_gloss_gu IS NULL THEN 'null' ELSE printf('%!.17g', OLD.adds_gloss_gu) END,
      json_quote(OLD.removable_with),
      json_quote(OLD.spares),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER treatments_no_delete BEFORE DELETE ON treatments
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from treatments: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER treatments_no_overwrite BEFORE INSERT ON treatments
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM treatments WHERE object = NEW.object AND treatment = NEW.treatment)
BEGIN
  SELECT RAISE(ABORT, 'A record of treatments with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER treatments_history AFTER UPDATE ON treatments
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of treatments stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.treatment IS NOT OLD.treatment;
  SELECT RAISE(ABORT, 'An update of treatments needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('treatments', OLD.object || '/' || OLD.treatment, OLD.revision, OLD.survey,
    printf('{"object":%s,"treatment":%s,"purpose":%s,"started":%s,"started_earliest":%s,"started_latest":%s,"ended":%s,"ended_earliest":%s,"ended_latest":%s,"treated_by":%s,"authorised_by":%s,"proposal":%s,"outcome":%s,"temporary_until":%s,"temporary_until_earliest":%s,"temporary_until_latest":%s,"report":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.treatment),
      json_quote(OLD.purpose),
      json_quote(OLD.started),
      json_quote(OLD.started_earliest),
      json_quote(OLD.started_latest),
      json_quote(OLD.ended),
      json_quote(OLD.ended_earliest),
      json_quote(OLD.ended_latest),
      json_quote(OLD.treated_by),
      json_quote(OLD.authorised_by),
      json_quote(OLD.proposal),
      json_quote(OLD.outcome),
      json_quote(OLD.temporary_until),
      json_quote(OLD.temporary_until_earliest),
      json_quote(OLD.temporary_until_latest),
      json_quote(OLD.report),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER treatment_steps_no_delete BEFORE DELETE ON treatment_steps
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from treatment_steps: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER treatment_steps_no_overwrite BEFORE INSERT ON treatment_steps
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM treatment_steps WHERE object = NEW.object AND treatment = NEW.treatment AND step = NEW.step)
BEGIN
  SELECT RAISE(ABORT, 'A record of treatment_steps with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER treatment_steps_history AFTER UPDATE ON treatment_steps
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of treatment_steps stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.treatment IS NOT OLD.treatment OR NEW.step IS NOT OLD.step;
  SELECT RAISE(ABORT, 'An update of treatment_steps needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('treatment_steps', OLD.object || '/' || OLD.treatment || '/' || OLD.step, OLD.revision, OLD.survey,
    printf('{"object":%s,"treatment":%s,"step":%s,"place":%s,"action":%s,"agent":%s,"ph":%s,"conductivity_mscm":%s,"application":%s,"dwell_s":%s,"passes":%s,"temperature_c":%s,"arrested_with":%s,"depth_um":%s,"removed":%s,"removed_m2":%s,"stopped_at":%s,"adds":%s,"adds_binder":%s,"gloss_after_gu":%s,"removable_with":%s,"area_m2":%s,"outcome":%s,"hours":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.treatment),
      json_quote(OLD.step),
      json_quote(OLD.place),
      json_quote(OLD.action),
      json_quote(OLD.agent),
      CASE WHEN OLD.ph IS NULL THEN 'null' ELSE printf('%!.17g', OLD.ph) END,
      CASE WHEN OLD.conductivity_mscm IS NULL THEN 'null' ELSE printf('%!.17g', OLD.conductivity_mscm) END,
      json_quote(OLD.application),
      CASE WHEN OLD.dwell_s IS NULL THEN 'null' ELSE printf('%!.17g', OLD.dwell_s) END,
      json_quote(OLD.passes),
      CASE WHEN OLD.temperature_c IS NULL THEN 'null' ELSE printf('%!.17g', OLD.temperature_c) END,
      json_quote(OLD.arrested_with),
      CASE WHEN OLD.depth_um IS NULL THEN 'null' ELSE printf('%!.17g', OLD.depth_um) END,
      json_quote(OLD.removed),
      CASE WHEN OLD.removed_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.removed_m2) END,
      json_quote(OLD.stopped_at),
      json_quote(OLD.adds),
      json_quote(OLD.adds_binder),
      CASE WHEN OLD.gloss_after_gu IS NULL THEN 'null' ELSE printf('%!.17g', OLD.gloss_after_gu) END,
      json_quote(OLD.removable_with),
      CASE WHEN OLD.area_m2 IS NULL THEN 'null' ELSE printf('%!.17g', OLD.area_m2) END,
      json_quote(OLD.outcome),
      CASE WHEN OLD.hours IS NULL THEN 'null' ELSE printf('%!.17g', OLD.hours) END,
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER advice_no_delete BEFORE DELETE ON advice
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from advice: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER advice_no_overwrite BEFORE INSERT ON advice
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM advice WHERE object = NEW.object AND advice = NEW.advice)
BEGIN
  SELECT RAISE(ABORT, 'A record of advice with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER advice_history AFTER UPDATE ON advice
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of advice stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.advice IS NOT OLD.advice;
  SELECT RAISE(ABORT, 'An update of advice needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('advice', OLD.object || '/' || OLD.advice, OLD.revision, OLD.survey,
    printf('{"object":%s,"advice":%s,"what":%s,"given_on":%s,"given_on_earliest":%s,"given_on_latest":%s,"place":%s,"given_by":%s,"why":%s,"priority":%s,"done_by":%s,"against":%s,"until":%s,"until_earliest":%s,"until_latest":%s,"replaced_by":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.advice),
      json_quote(OLD.what),
      json_quote(OLD.given_on),
      json_quote(OLD.given_on_earliest),
      json_quote(OLD.given_on_latest),
      json_quote(OLD.place),
      json_quote(OLD.given_by),
      json_quote(OLD.why),
      json_quote(OLD.priority),
      json_quote(OLD.done_by),
      json_quote(OLD.against),
      json_quote(OLD.until),
      json_quote(OLD.until_earliest),
      json_quote(OLD.until_latest),
      json_quote(OLD.replaced_by),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER claims_no_delete BEFORE DELETE ON claims
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from claims: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER claims_no_overwrite BEFORE INSERT ON claims
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM claims WHERE object = NEW.object AND claim = NEW.claim AND observed_on = NEW.observed_on)
BEGIN
  SELECT RAISE(ABORT, 'A record of claims with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER claims_history AFTER UPDATE ON claims
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of claims stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.claim IS NOT OLD.claim OR NEW.observed_on IS NOT OLD.observed_on;
  SELECT RAISE(ABORT, 'An update of claims needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('claims', OLD.object || '/' || OLD.claim || CASE WHEN OLD.observed_on = '' THEN '' ELSE '/' || OLD.observed_on END, OLD.revision, OLD.survey,
    printf('{"object":%s,"claim":%s,"statement":%s,"status":%s,"place":%s,"decoration":%s,"resolved_by":%s,"observed_on":%s,"observed_on_earliest":%s,"observed_on_latest":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.claim),
      json_quote(OLD.statement),
      json_quote(OLD.status),
      json_quote(OLD.place),
      json_quote(OLD.decoration),
      json_quote(OLD.resolved_by),
      json_quote(OLD.observed_on),
      json_quote(OLD.observed_on_earliest),
      json_quote(OLD.observed_on_latest),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER hazards_no_delete BEFORE DELETE ON hazards
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from hazards: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER hazards_no_overwrite BEFORE INSERT ON hazards
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM hazards WHERE object = NEW.object AND hazard = NEW.hazard AND observed_on = NEW.observed_on)
BEGIN
  SELECT RAISE(ABORT, 'A record of hazards with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER hazards_history AFTER UPDATE ON hazards
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of hazards stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.hazard IS NOT OLD.hazard OR NEW.observed_on IS NOT OLD.observed_on;
  SELECT RAISE(ABORT, 'An update of hazards needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('hazards', OLD.object || '/' || OLD.hazard || CASE WHEN OLD.observed_on = '' THEN '' ELSE '/' || OLD.observed_on END, OLD.revision, OLD.survey,
    printf('{"object":%s,"hazard":%s,"kind":%s,"status":%s,"component":%s,"observed_on":%s,"observed_on_earliest":%s,"observed_on_latest":%s,"basis":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.hazard),
      json_quote(OLD.kind),
      json_quote(OLD.status),
      json_quote(OLD.component),
      json_quote(OLD.observed_on),
      json_quote(OLD.observed_on_earliest),
      json_quote(OLD.observed_on_latest),
      json_quote(OLD.basis),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER pictures_no_delete BEFORE DELETE ON pictures
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from pictures: withdraw the record, and it leaves the account.');
END;
CREATE TRIGGER pictures_no_overwrite BEFORE INSERT ON pictures
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM pictures WHERE object = NEW.object AND picture = NEW.picture)
BEGIN
  SELECT RAISE(ABORT, 'A record of pictures with this key is stored already: amend or correct it.');
END;
CREATE TRIGGER pictures_history AFTER UPDATE ON pictures
BEGIN
  SELECT RAISE(ABORT, 'The key of a record of pictures stays as it is.')
  WHERE NEW.rowid IS NOT OLD.rowid OR NEW.object IS NOT OLD.object OR NEW.picture IS NOT OLD.picture;
  SELECT RAISE(ABORT, 'An update of pictures needs a newer change and the next revision number.')
  WHERE (NEW.change > OLD.change AND NEW.revision = OLD.revision + 1) IS NOT 1;
  INSERT INTO history (sheet, key, revision, survey, content, change)
  VALUES ('pictures', OLD.object || '/' || OLD.picture, OLD.revision, OLD.survey,
    printf('{"object":%s,"picture":%s,"file":%s,"place":%s,"sample":%s,"test":%s,"treatment":%s,"lighting":%s,"view":%s,"stage":%s,"caption":%s,"taken_on":%s,"taken_on_earliest":%s,"taken_on_latest":%s,"taken_by":%s,"um_per_px":%s,"surface_px":%s,"rights":%s,"source":%s,"audience":%s,"notes":%s,"survey":%s,"from_file":%s,"from_row":%s,"revision":%s,"change":%s,"withdrawn":%s}',
      json_quote(OLD.object),
      json_quote(OLD.picture),
      json_quote(OLD.file),
      json_quote(OLD.place),
      json_quote(OLD.sample),
      json_quote(OLD.test),
      json_quote(OLD.treatment),
      json_quote(OLD.lighting),
      json_quote(OLD.view),
      json_quote(OLD.stage),
      json_quote(OLD.caption),
      json_quote(OLD.taken_on),
      json_quote(OLD.taken_on_earliest),
      json_quote(OLD.taken_on_latest),
      json_quote(OLD.taken_by),
      CASE WHEN OLD.um_per_px IS NULL THEN 'null' ELSE printf('%!.17g', OLD.um_per_px) END,
      CASE WHEN OLD.surface_px IS NULL THEN 'null' ELSE printf('%!.17g', OLD.surface_px) END,
      json_quote(OLD.rights),
      json_quote(OLD.source),
      json_quote(OLD.audience),
      json_quote(OLD.notes),
      json_quote(OLD.survey),
      json_quote(OLD.from_file),
      json_quote(OLD.from_row),
      json_quote(OLD.revision),
      json_quote(OLD.change),
      json_quote(OLD.withdrawn)),
    NEW.change);
END;

CREATE TRIGGER objects_place AFTER INSERT ON objects
WHEN NOT EXISTS (SELECT 1 FROM places WHERE object = NEW.object AND place = 'all' AND kind = 'all')
BEGIN
  INSERT INTO places (object, place, kind) VALUES (NEW.object, 'all', 'all');
END;
CREATE TRIGGER components_place AFTER INSERT ON components
WHEN NOT EXISTS (SELECT 1 FROM places WHERE object = NEW.object AND place = NEW.component AND kind = 'component')
BEGIN
  INSERT INTO places (object, place, kind) VALUES (NEW.object, NEW.component, 'component');
END;
CREATE TRIGGER zones_place AFTER INSERT ON zones
WHEN NOT EXISTS (SELECT 1 FROM places WHERE object = NEW.object AND place = NEW.zone AND kind = 'zone')
BEGIN
  INSERT INTO places (object, place, kind) VALUES (NEW.object, NEW.zone, 'zone');
END;

CREATE TRIGGER changes_no_delete BEFORE DELETE ON changes
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from changes.');
END;
CREATE TRIGGER changes_in_order BEFORE INSERT ON changes
WHEN NEW.number IS NOT (SELECT coalesce(max(number), 0) + 1 FROM changes)
  OR NEW.hash IS NOT NULL OR NEW.content_sha256 IS NOT NULL OR NEW.previous_hash IS NOT NULL
BEGIN
  SELECT RAISE(ABORT, 'A change takes the next number and is sealed later.');
END;
CREATE TRIGGER changes_sealed_once BEFORE UPDATE ON changes
WHEN OLD.hash IS NOT NULL OR NEW.hash IS NULL OR NEW.content_sha256 IS NULL
  OR NEW.previous_hash IS NOT coalesce((SELECT hash FROM changes WHERE number = OLD.number - 1), '')
  OR (OLD.number > 1 AND NEW.previous_hash = '')
  OR NEW.number IS NOT OLD.number OR NEW.at IS NOT OLD.at OR NEW.by IS NOT OLD.by OR NEW.why IS NOT OLD.why OR NEW.action IS NOT OLD.action OR NEW.subject IS NOT OLD.subject OR NEW.tool_version IS NOT OLD.tool_version OR NEW.package_sha256 IS NOT OLD.package_sha256
BEGIN
  SELECT RAISE(ABORT, 'A change is sealed once, after the one before it, and never altered.');
END;

CREATE TRIGGER migrations_no_delete BEFORE DELETE ON migrations
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from migrations.');
END;
CREATE TRIGGER migrations_no_update BEFORE UPDATE ON migrations
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in migrations.');
END;
CREATE TRIGGER migrations_no_overwrite BEFORE INSERT ON migrations
WHEN EXISTS (SELECT 1 FROM migrations WHERE version = NEW.version)
BEGIN
  SELECT RAISE(ABORT, 'A row of migrations is written once.');
END;

CREATE TRIGGER history_no_delete BEFORE DELETE ON history
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from history.');
END;
CREATE TRIGGER history_no_update BEFORE UPDATE ON history
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in history.');
END;
CREATE TRIGGER history_no_overwrite BEFORE INSERT ON history
WHEN EXISTS (SELECT 1 FROM history WHERE id = NEW.id)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of history is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER places_no_delete BEFORE DELETE ON places
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from places.');
END;
CREATE TRIGGER places_no_update BEFORE UPDATE ON places
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in places.');
END;
CREATE TRIGGER places_no_overwrite BEFORE INSERT ON places
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM places WHERE object = NEW.object AND place = NEW.place)
BEGIN
  SELECT RAISE(ABORT, 'Zones and parts of an object share their codes: the other kind has this one.');
END;

CREATE TRIGGER packages_no_delete BEFORE DELETE ON packages
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from packages.');
END;
CREATE TRIGGER packages_no_update BEFORE UPDATE ON packages
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in packages.');
END;
CREATE TRIGGER packages_no_overwrite BEFORE INSERT ON packages
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM packages WHERE sha256 = NEW.sha256)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of packages is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER files_no_delete BEFORE DELETE ON files
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from files.');
END;
CREATE TRIGGER files_no_update BEFORE UPDATE ON files
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in files.');
END;
CREATE TRIGGER files_no_overwrite BEFORE INSERT ON files
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM files WHERE sha256 = NEW.sha256)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of files is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER file_uses_no_delete BEFORE DELETE ON file_uses
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from file_uses.');
END;
CREATE TRIGGER file_uses_no_update BEFORE UPDATE ON file_uses
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in file_uses.');
END;
CREATE TRIGGER file_uses_no_overwrite BEFORE INSERT ON file_uses
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM file_uses WHERE sheet = NEW.sheet AND key = NEW.key AND column = NEW.column AND change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of file_uses is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER warnings_no_delete BEFORE DELETE ON warnings
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from warnings.');
END;
CREATE TRIGGER warnings_no_update BEFORE UPDATE ON warnings
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in warnings.');
END;
CREATE TRIGGER warnings_no_overwrite BEFORE INSERT ON warnings
WHEN EXISTS (SELECT 1 FROM warnings WHERE id = NEW.id)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of warnings is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER unmapped_cells_no_delete BEFORE DELETE ON unmapped_cells
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from unmapped_cells.');
END;
CREATE TRIGGER unmapped_cells_no_update BEFORE UPDATE ON unmapped_cells
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in unmapped_cells.');
END;
CREATE TRIGGER unmapped_cells_no_overwrite BEFORE INSERT ON unmapped_cells
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM unmapped_cells WHERE sheet = NEW.sheet AND key = NEW.key AND heading = NEW.heading AND change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of unmapped_cells is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER same_things_no_delete BEFORE DELETE ON same_things
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from same_things.');
END;
CREATE TRIGGER same_things_no_update BEFORE UPDATE ON same_things
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in same_things.');
END;
CREATE TRIGGER same_things_no_overwrite BEFORE INSERT ON same_things
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM same_things WHERE sheet = NEW.sheet AND key = NEW.key AND same_as = NEW.same_as AND change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of same_things is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER decisions_no_delete BEFORE DELETE ON decisions
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from decisions.');
END;
CREATE TRIGGER decisions_no_update BEFORE UPDATE ON decisions
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in decisions.');
END;
CREATE TRIGGER decisions_no_overwrite BEFORE INSERT ON decisions
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM decisions WHERE object = NEW.object AND proposal = NEW.proposal AND number = NEW.number)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of decisions is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER overrides_no_delete BEFORE DELETE ON overrides
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from overrides.');
END;
CREATE TRIGGER overrides_no_update BEFORE UPDATE ON overrides
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in overrides.');
END;
CREATE TRIGGER overrides_no_overwrite BEFORE INSERT ON overrides
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM overrides WHERE object = NEW.object AND proposal = NEW.proposal AND number = NEW.number AND loss = NEW.loss)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of overrides is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER answers_no_delete BEFORE DELETE ON answers
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from answers.');
END;
CREATE TRIGGER answers_no_update BEFORE UPDATE ON answers
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in answers.');
END;
CREATE TRIGGER answers_no_overwrite BEFORE INSERT ON answers
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM answers WHERE object = NEW.object AND proposal = NEW.proposal AND number = NEW.number AND advice = NEW.advice)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of answers is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER collection_no_delete BEFORE DELETE ON collection
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from collection.');
END;
CREATE TRIGGER collection_no_update BEFORE UPDATE ON collection
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in collection.');
END;
CREATE TRIGGER collection_no_overwrite BEFORE INSERT ON collection
WHEN EXISTS (SELECT 1 FROM collection WHERE change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of collection is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER first_made_no_delete BEFORE DELETE ON first_made
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from first_made.');
END;
CREATE TRIGGER first_made_no_update BEFORE UPDATE ON first_made
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in first_made.');
END;
CREATE TRIGGER first_made_no_overwrite BEFORE INSERT ON first_made
WHEN EXISTS (SELECT 1 FROM first_made WHERE change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of first_made is written once, and its change is one that is not sealed yet.');
END;

CREATE TRIGGER tags_no_delete BEFORE DELETE ON tags
BEGIN
  SELECT RAISE(ABORT, 'Nothing is deleted from tags.');
END;
CREATE TRIGGER tags_no_update BEFORE UPDATE ON tags
BEGIN
  SELECT RAISE(ABORT, 'Nothing is altered in tags.');
END;
CREATE TRIGGER tags_no_overwrite BEFORE INSERT ON tags
WHEN NEW.rowid <> -1 OR EXISTS (SELECT 1 FROM tags WHERE object = NEW.object AND number = NEW.number AND change = NEW.change)
  OR NOT EXISTS (SELECT 1 FROM changes WHERE number = NEW.change AND hash IS NULL)
BEGIN
  SELECT RAISE(ABORT, 'A row of tags is written once, and its change is one that is not sealed yet.');
END;

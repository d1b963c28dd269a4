-- Version 3: the cells of lists from elsewhere are read and searched.
-- Each is kept with its row of the list, which is blank for those that were kept before. Their words come into the
-- search documents, which are derived: the objects concerned are marked, and `refresh` puts the words in.

-- unmapped_cells: list_row.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM unmapped_cells;
DROP TABLE unmapped_cells;
CREATE TABLE unmapped_cells (
  sheet    TEXT NOT NULL,
  key      TEXT NOT NULL,
  heading  TEXT NOT NULL,
  value    TEXT NOT NULL,
  list_row INTEGER CHECK (list_row >= 1),
  change   INTEGER NOT NULL,
  PRIMARY KEY (sheet, key, heading, change),
  CHECK (rowid > 0),
  FOREIGN KEY (change) REFERENCES changes (number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
INSERT INTO unmapped_cells (sheet, key, heading, value, change)
SELECT sheet, key, heading, value, change
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE INDEX unmapped_cells_by_change ON unmapped_cells (change);

-- documents: listed.
CREATE TEMPORARY TABLE waiting AS SELECT rowid AS nth, * FROM documents;
DROP TABLE documents;
CREATE TABLE documents (
  id     INTEGER PRIMARY KEY CHECK (id > 0),
  object TEXT NOT NULL,
  title  TEXT NOT NULL,
  words  TEXT NOT NULL,
  facets TEXT NOT NULL,
  listed TEXT NOT NULL DEFAULT ''
) STRICT;
INSERT INTO documents (id, object, title, words, facets)
SELECT id, object, title, words, facets
FROM temp.waiting ORDER BY nth;
DROP TABLE temp.waiting;
CREATE UNIQUE INDEX documents_object ON documents (object);

-- documents_fts: listed.
DROP TABLE documents_fts;
CREATE VIRTUAL TABLE documents_fts USING fts5 (
  title, words, facets, listed, content='documents', content_rowid='id', prefix='3'
);
INSERT INTO documents_fts (documents_fts) VALUES ('rebuild');
UPDATE facts SET stale = 1 WHERE object IN (SELECT key FROM unmapped_cells WHERE sheet = 'objects')
  OR (EXISTS (SELECT 1 FROM unmapped_cells) AND EXISTS (SELECT 1 FROM same_things WHERE sheet = 'objects'));

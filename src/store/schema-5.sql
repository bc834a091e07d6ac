-- Version 5: winter work as it is really done: jobs and access steps begun on a car, what they took off, hours and money spent, torques.

-- a job, or a step of access work, begun on a car
CREATE TABLE work (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL REFERENCES car (id),
  kind TEXT NOT NULL CHECK (kind IN ('access', 'job')),
  name TEXT NOT NULL CHECK (name <> ''),  -- as the plan and the knowledge name it
  title TEXT NOT NULL CHECK (title <> ''),
  begun_s INTEGER NOT NULL,
  done_s INTEGER,    -- job: the work is done, its proof is still to come; access: it is open, and still to be closed
  closed_s INTEGER CHECK (closed_s IS NULL OR done_s IS NOT NULL), -- job: proven; access: closed again
  close_reason TEXT CHECK (close_reason IS NULL OR closed_s IS NOT NULL), -- why it was closed with something open
  proof_sheet_id INTEGER REFERENCES sheet (id), -- the test sheet that proved it
  proof_run_id INTEGER REFERENCES run (id),     -- the logged run that did
  changed_s INTEGER NOT NULL
) STRICT;
CREATE INDEX work_of_car ON work (car_id);
CREATE UNIQUE INDEX work_in_hand ON work (car_id, kind, name) WHERE closed_s IS NULL; -- once at a time
CREATE TRIGGER work_is_kept BEFORE DELETE ON work BEGIN
  SELECT raise(ABORT, 'work: rows are kept');
END;
CREATE TRIGGER work_history AFTER UPDATE OF done_s, closed_s, close_reason, proof_sheet_id, proof_run_id ON work BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('work', old.id, json_object('done_s', old.done_s, 'closed_s', old.closed_s, 'close_reason', old.close_reason, 'proof_sheet_id', old.proof_sheet_id, 'proof_run_id', old.proof_run_id), old.changed_s, new.changed_s);
END;

-- hours worked and money paid
CREATE TABLE spent (
  id INTEGER PRIMARY KEY,
  work_id INTEGER NOT NULL REFERENCES work (id),
  day TEXT NOT NULL,
  work_us INTEGER NOT NULL CHECK (work_us >= 0), -- microseconds
  money INTEGER NOT NULL CHECK (money >= 0),     -- ten-millionths of the currency
  note TEXT, -- what it was for
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
CREATE INDEX spent_on_work ON spent (work_id);
CREATE TRIGGER spent_is_kept BEFORE DELETE ON spent BEGIN
  SELECT raise(ABORT, 'spent: rows are kept; mark them as deleted');
END;
CREATE TRIGGER spent_history AFTER UPDATE OF day, work_us, money, note, deleted_s ON spent BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('spent', old.id, json_object('day', old.day, 'work_us', old.work_us, 'money', old.money, 'note', old.note, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

-- a torque as the car's own manual has it
CREATE TABLE torque (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL REFERENCES car (id),
  name TEXT NOT NULL CHECK (name <> ''), -- of the torque to be looked up, as the knowledge names it
  text TEXT,  -- the number as typed; NULL = only a note
  unit TEXT,
  value REAL, -- SI
  note TEXT,  -- order, angle, oil
  thread TEXT,         -- for the cross-check
  property_class TEXT,
  surface TEXT CHECK (surface IN ('dry', 'zinc', 'oiled')),
  changed_s INTEGER NOT NULL,
  UNIQUE (car_id, name)
) STRICT;
CREATE TRIGGER torque_is_kept BEFORE DELETE ON torque BEGIN
  SELECT raise(ABORT, 'torque: rows are kept');
END;
CREATE TRIGGER torque_history AFTER UPDATE OF text, unit, value, note, thread, property_class, surface ON torque BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('torque', old.id, json_object('text', old.text, 'unit', old.unit, 'value', old.value, 'note', old.note, 'thread', old.thread, 'property_class', old.property_class, 'surface', old.surface), old.changed_s, new.changed_s);
END;

-- Ledger and photos belong to a sheet or to such work: their tables are made anew, since SQLite cannot take a NOT NULL away. Photos first, which refer to
-- the ledger: references are checked at each statement.
CREATE TABLE photo_was AS SELECT * FROM photo;
DROP TABLE photo;
CREATE TABLE ledger_was AS SELECT * FROM ledger;
DROP TABLE ledger;

CREATE TABLE ledger (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER REFERENCES sheet (id),
  work_id INTEGER REFERENCES work (id),
  what TEXT NOT NULL CHECK (what <> ''),
  origin TEXT, -- where it came from
  lies TEXT,   -- where it lies now
  torque TEXT, -- from the car's own manual, as typed
  note TEXT,
  taken_s INTEGER NOT NULL,
  put_back_s INTEGER,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER,
  CHECK ((sheet_id IS NOT NULL) + (work_id IS NOT NULL) = 1)
) STRICT;
INSERT INTO ledger (id, sheet_id, what, origin, lies, torque, note, taken_s, put_back_s, client, changed_s, deleted_s)
  SELECT id, sheet_id, what, origin, lies, torque, note, taken_s, put_back_s, client, changed_s, deleted_s FROM ledger_was;
DROP TABLE ledger_was;
CREATE INDEX ledger_of_sheet ON ledger (sheet_id);
CREATE INDEX ledger_of_work ON ledger (work_id);
CREATE INDEX ledger_open ON ledger (sheet_id) WHERE put_back_s IS NULL AND deleted_s IS NULL;
CREATE TRIGGER ledger_is_kept BEFORE DELETE ON ledger BEGIN
  SELECT raise(ABORT, 'ledger: rows are kept; mark them as deleted');
END;
CREATE TRIGGER ledger_history AFTER UPDATE OF what, origin, lies, torque, note, put_back_s, deleted_s ON ledger BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('ledger', old.id, json_object('what', old.what, 'origin', old.origin, 'lies', old.lies, 'torque', old.torque, 'note', old.note, 'put_back_s', old.put_back_s, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

CREATE TABLE photo (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER REFERENCES sheet (id),
  work_id INTEGER REFERENCES work (id),
  ledger_id INTEGER REFERENCES ledger (id),
  mime TEXT NOT NULL CHECK (mime IN ('image/jpeg', 'image/png', 'image/webp')),
  taken_s INTEGER NOT NULL,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER,
  bytes BLOB NOT NULL, -- the last column, so that lists need not pass over it
  CHECK ((sheet_id IS NOT NULL) + (work_id IS NOT NULL) = 1)
) STRICT;
INSERT INTO photo (id, sheet_id, ledger_id, mime, taken_s, client, changed_s, deleted_s, bytes)
  SELECT id, sheet_id, ledger_id, mime, taken_s, client, changed_s, deleted_s, bytes FROM photo_was;
DROP TABLE photo_was;
CREATE INDEX photo_of_sheet ON photo (sheet_id);
CREATE INDEX photo_of_work ON photo (work_id);
CREATE TRIGGER photo_is_kept BEFORE DELETE ON photo BEGIN
  SELECT raise(ABORT, 'photo: rows are kept; mark them as deleted');
END;
CREATE TRIGGER photo_history AFTER UPDATE OF deleted_s ON photo BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('photo', old.id, json_object('deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

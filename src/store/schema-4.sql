-- Version 4: logged runs of the driveline, what they said, and what was seen by hand since.

-- what is known of a car's driveline, as typed (YAML: tyre, final_drive, gears, mass, drag_area, clutch)
CREATE TABLE drivetrain (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL UNIQUE REFERENCES car (id),
  text TEXT,
  changed_s INTEGER NOT NULL
) STRICT;
CREATE TRIGGER drivetrain_is_kept BEFORE DELETE ON drivetrain BEGIN
  SELECT raise(ABORT, 'drivetrain: rows are kept; mark them as deleted');
END;
CREATE TRIGGER drivetrain_history AFTER UPDATE OF text ON drivetrain BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('drivetrain', old.id, json_object('car_id', old.car_id, 'text', old.text), old.changed_s, new.changed_s);
END;

-- one judged run; the log itself is not kept. A run judged anew (other columns, a car described better) is a further row that replaces it.
CREATE TABLE run (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL REFERENCES car (id),
  replaces_id INTEGER UNIQUE REFERENCES run (id),
  day TEXT,                                   -- of driving
  note TEXT,
  log_name TEXT NOT NULL CHECK (log_name <> ''),
  log_sha256 TEXT NOT NULL CHECK (length(log_sha256) = 64),
  log_bytes INTEGER NOT NULL CHECK (log_bytes >= 0),
  drivetrain TEXT,                            -- what was known of the car then
  told TEXT NOT NULL,                         -- what the reader of logs assumed and repaired, a line each
  made_by TEXT NOT NULL,                      -- version of the calculation
  judged_s INTEGER NOT NULL,
  log_rows INTEGER NOT NULL CHECK (log_rows >= 0),
  seconds REAL NOT NULL CHECK (seconds >= 0),
  state TEXT NOT NULL CHECK (state IN ('gears_found', 'too_little_driving', 'no_fixed_gears')),
  limits INTEGER NOT NULL,                    -- a sum: what limits the answer, ch_driveline_limit
  patterns INTEGER NOT NULL,                  -- a sum: seen, by place in knowledge/driveline.yaml
  patterns_known INTEGER NOT NULL,            -- which of them could be seen
  slips_found INTEGER NOT NULL CHECK (slips_found >= 0),
  wheelspins INTEGER NOT NULL,
  by_foot INTEGER NOT NULL,
  by_sensor INTEGER NOT NULL,
  too_brief INTEGER NOT NULL,
  on_lines_1 REAL,
  car_factor_1 REAL,
  lag_s REAL,
  u_lag_s REAL,
  engine_fresh_s REAL,
  road_fresh_s REAL,
  road_step_m_s REAL,
  road_offset_m_s REAL,
  shortest_slip_s REAL,
  loaded_s REAL,
  loaded_low_s REAL,
  capacity_low_n_m REAL,
  capacity_n_m REAL,
  capacity_high_n_m REAL,
  fade_1_k REAL,
  u_fade_1_k REAL,
  design_wear_n_m REAL,
  design_pressure_n_m REAL,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER,
  picture BLOB,                               -- points for the charts: floats, IEEE 754 binary32, little end first, ch_drive_point
  CHECK (replaces_id < id)
) STRICT;
CREATE INDEX run_of_car ON run (car_id);
CREATE TRIGGER run_is_kept BEFORE DELETE ON run BEGIN
  SELECT raise(ABORT, 'run: rows are kept; mark them as deleted');
END;
CREATE TRIGGER run_is_raw BEFORE UPDATE OF id, car_id, replaces_id, log_name, log_sha256, log_bytes, drivetrain, told, made_by, judged_s, log_rows, seconds, state, limits, patterns, patterns_known, slips_found, wheelspins, by_foot, by_sensor, too_brief, on_lines_1, car_factor_1, lag_s, u_lag_s, engine_fresh_s, road_fresh_s, road_step_m_s, road_offset_m_s, shortest_slip_s, loaded_s, loaded_low_s, capacity_low_n_m, capacity_n_m, capacity_high_n_m, fade_1_k, u_fade_1_k, design_wear_n_m, design_pressure_n_m, client, picture ON run BEGIN
  SELECT raise(ABORT, 'run: what was judged stays; judge the log anew');
END;
CREATE TRIGGER run_history AFTER UPDATE OF day, note, deleted_s ON run BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('run', old.id, json_object('day', old.day, 'note', old.note, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

CREATE TABLE run_gear (
  run_id INTEGER NOT NULL REFERENCES run (id),
  place INTEGER NOT NULL CHECK (place >= 0),
  number INTEGER NOT NULL CHECK (number > 0),
  line_rad_m REAL NOT NULL CHECK (line_rad_m > 0),
  u_line_rad_m REAL,
  spread_1 REAL,
  seconds REAL,
  car_line_rad_m REAL,
  PRIMARY KEY (run_id, place)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER run_gear_is_kept BEFORE DELETE ON run_gear BEGIN
  SELECT raise(ABORT, 'run_gear: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_gear_is_raw BEFORE UPDATE ON run_gear BEGIN
  SELECT raise(ABORT, 'run_gear: what was judged stays; judge the log anew');
END;

CREATE TABLE run_slip (
  run_id INTEGER NOT NULL REFERENCES run (id),
  place INTEGER NOT NULL CHECK (place >= 0),
  gear INTEGER NOT NULL CHECK (gear > 0),
  start_s REAL NOT NULL,
  end_s REAL NOT NULL,
  peak_1 REAL,
  mean_1 REAL,
  ahead_rad_s REAL,
  road_speed_m_s REAL,
  engine_speed_rad_s REAL,
  throttle_1 REAL,
  acceleration_m_s2 REAL,
  oil_or_coolant_k REAL,
  torque_n_m REAL,
  u_torque_n_m REAL,
  heat_j REAL,
  plate_k REAL,
  peak_plate_k REAL,
  driven_before_s REAL,
  PRIMARY KEY (run_id, place),
  CHECK (end_s >= start_s)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER run_slip_is_kept BEFORE DELETE ON run_slip BEGIN
  SELECT raise(ABORT, 'run_slip: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_slip_is_raw BEFORE UPDATE ON run_slip BEGIN
  SELECT raise(ABORT, 'run_slip: what was judged stays; judge the log anew');
END;

-- chances of the causes, from the run and from what was seen by hand; they move when something more is seen
CREATE TABLE run_cause (
  id INTEGER PRIMARY KEY,
  run_id INTEGER NOT NULL REFERENCES run (id),
  cause TEXT NOT NULL,
  chance_1 REAL NOT NULL CHECK (chance_1 BETWEEN 0 AND 1),
  changed_s INTEGER NOT NULL,
  UNIQUE (run_id, cause)
) STRICT;
CREATE TRIGGER run_cause_is_kept BEFORE DELETE ON run_cause BEGIN
  SELECT raise(ABORT, 'run_cause: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_cause_history AFTER UPDATE OF chance_1 ON run_cause BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('run_cause', old.id, json_object('run_id', old.run_id, 'cause', old.cause, 'chance_1', old.chance_1), old.changed_s, new.changed_s);
END;

-- what a look, a hand or the history showed
CREATE TABLE run_sign (
  id INTEGER PRIMARY KEY,
  run_id INTEGER NOT NULL REFERENCES run (id),
  sign TEXT NOT NULL CHECK (sign <> ''),
  present INTEGER CHECK (present IN (0, 1)), -- NULL = no longer given
  changed_s INTEGER NOT NULL,
  UNIQUE (run_id, sign)
) STRICT;
CREATE TRIGGER run_sign_is_kept BEFORE DELETE ON run_sign BEGIN
  SELECT raise(ABORT, 'run_sign: rows are kept; mark them as deleted');
END;
CREATE TRIGGER run_sign_history AFTER UPDATE OF present ON run_sign BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('run_sign', old.id, json_object('run_id', old.run_id, 'sign', old.sign, 'present', old.present), old.changed_s, new.changed_s);
END;

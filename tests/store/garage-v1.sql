PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE history (
  id INTEGER PRIMARY KEY,
  table_name TEXT NOT NULL,
  row_id INTEGER NOT NULL,
  was TEXT NOT NULL,
  from_s INTEGER NOT NULL,
  until_s INTEGER NOT NULL
) STRICT;
CREATE TABLE setting (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  text TEXT,
  changed_s INTEGER NOT NULL
) STRICT;
INSERT INTO setting VALUES(1,'hour_value','15',1800000000);
CREATE TABLE car (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  client TEXT UNIQUE, -- the id that the sender made up, so that a repeated sending is known
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO car VALUES(1,'invented hill climb car','for tests','car-1',1800000000,NULL);
CREATE TABLE engine (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL REFERENCES car (id),
  continues_id INTEGER REFERENCES engine (id), -- the life that it goes on from
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  why TEXT NOT NULL CHECK (why IN ('first', 'rebuild', 'swap')),
  begun_day TEXT NOT NULL,
  ended_day TEXT CHECK (ended_day >= begun_day),
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL
) STRICT;
INSERT INTO engine VALUES(1,1,NULL,'invented four',NULL,'first','2025-03-01',NULL,NULL,1800000000);
CREATE TABLE gauge (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO gauge VALUES(1,'300 psi dial',NULL,NULL,1800000000,NULL);
CREATE TABLE event (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL REFERENCES car (id),
  engine_id INTEGER REFERENCES engine (id),
  day TEXT NOT NULL,
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  running_s REAL CHECK (running_s >= 0),
  distance_m REAL CHECK (distance_m >= 0),
  starts INTEGER CHECK (starts >= 0),
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO event VALUES(1,1,1,'2025-05-01','hill climb',NULL,7200.0,80000.0,9,NULL,1800000000,NULL);
CREATE TABLE part (
  id INTEGER PRIMARY KEY,
  engine_id INTEGER NOT NULL REFERENCES engine (id),
  continues_id INTEGER REFERENCES part (id), -- its stay in an earlier life
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  fitted_day TEXT NOT NULL,
  removed_day TEXT CHECK (removed_day >= fitted_day),
  carried_running_s REAL NOT NULL CHECK (carried_running_s >= 0),
  carried_distance_m REAL NOT NULL CHECK (carried_distance_m >= 0),
  carried_starts INTEGER NOT NULL CHECK (carried_starts >= 0),
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO part VALUES(1,1,NULL,'clutch',NULL,'2025-03-01',NULL,36000.0,0.0,0,NULL,1800000000,NULL);
CREATE TABLE sheet (
  id INTEGER PRIMARY KEY,
  engine_id INTEGER REFERENCES engine (id),
  gauge_id INTEGER REFERENCES gauge (id),
  opened_s INTEGER NOT NULL,
  closed_s INTEGER,
  close_reason TEXT CHECK (close_reason IS NULL OR closed_s IS NOT NULL),
  revision INTEGER NOT NULL DEFAULT 1, -- grows with every change of the sheet or of what hangs on it
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO sheet VALUES(1,1,NULL,1800000000,1800000000,NULL,1,'file-1',1800000000,NULL);
INSERT INTO sheet VALUES(2,1,1,1800000000,NULL,NULL,7,NULL,1800000000,NULL);
CREATE TABLE field (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER REFERENCES sheet (id),
  engine_id INTEGER REFERENCES engine (id),
  gauge_id INTEGER REFERENCES gauge (id),
  name TEXT NOT NULL,
  text TEXT,    -- as typed; NULL = no longer given
  unit TEXT,    -- of a quantity
  bare INTEGER, -- of a quantity: 1 = typed without the unit, which the sheet's `units` named
  value REAL,   -- of a number or quantity, SI
  changed_s INTEGER NOT NULL,
  CHECK ((sheet_id IS NOT NULL) + (engine_id IS NOT NULL) + (gauge_id IS NOT NULL) = 1),
  UNIQUE (sheet_id, name), UNIQUE (engine_id, name), UNIQUE (gauge_id, name)
) STRICT;
INSERT INTO field VALUES(1,NULL,1,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(2,NULL,1,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(3,NULL,1,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(4,NULL,1,NULL,'engine.bore','78.4','mm',1,0.078400000000000011346,1800000000);
INSERT INTO field VALUES(5,NULL,1,NULL,'engine.stroke','83.0','mm',1,0.083000000000000004329,1800000000);
INSERT INTO field VALUES(6,NULL,1,NULL,'engine.rod_length','136','mm',1,0.13600000000000000976,1800000000);
INSERT INTO field VALUES(7,NULL,1,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8000000000000007105,1800000000);
INSERT INTO field VALUES(8,NULL,1,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(9,NULL,1,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(10,NULL,1,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(11,NULL,1,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(12,NULL,1,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.00010000000000000000479,1800000000);
INSERT INTO field VALUES(13,NULL,1,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(14,NULL,1,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.029999999999999998889,1800000000);
INSERT INTO field VALUES(15,NULL,1,NULL,'engine.intake_valves.lift','8.2','mm',1,0.0081999999999999989563,1800000000);
INSERT INTO field VALUES(16,NULL,1,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(17,NULL,1,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,0.025500000000000001831,1800000000);
INSERT INTO field VALUES(18,NULL,1,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.0080000000000000001665,1800000000);
INSERT INTO field VALUES(19,NULL,1,NULL,'engine.limits.standard','180','psi',1,1241056.3127703052013,1800000000);
INSERT INTO field VALUES(20,NULL,1,NULL,'engine.limits.minimum','140','psi',1,965266.02104357059576,1800000000);
INSERT INTO field VALUES(21,NULL,1,NULL,'engine.limits.spread','25','psi',1,172368.93232920905574,1800000000);
INSERT INTO field VALUES(22,NULL,NULL,1,'gauge.span','300','psi',1,2068427.1879505084362,1800000000);
INSERT INTO field VALUES(23,NULL,NULL,1,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(24,NULL,NULL,1,'gauge.resolution','2','psi',1,13789.514586336723368,1800000000);
INSERT INTO field VALUES(25,NULL,NULL,1,'gauge.hose_volume','11','ml',0,1.0999999999999999713e-05,1800000000);
INSERT INTO field VALUES(26,NULL,NULL,1,'gauge.dead_volume','2','ml',0,1.9999999999999999094e-06,1800000000);
INSERT INTO field VALUES(27,1,NULL,NULL,'title','INVENTED DEMONSTRATION - hill climb four, end of the first season',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(28,1,NULL,NULL,'note','Invented. Battery on the charger throughout, all plugs out, throttle propped open, each cylinder read twice.',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(29,1,NULL,NULL,'units.pressure','psi',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(30,1,NULL,NULL,'units.length','mm',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(31,1,NULL,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(32,1,NULL,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(33,1,NULL,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(34,1,NULL,NULL,'engine.bore','78.4','mm',1,0.078400000000000011346,1800000000);
INSERT INTO field VALUES(35,1,NULL,NULL,'engine.stroke','83.0','mm',1,0.083000000000000004329,1800000000);
INSERT INTO field VALUES(36,1,NULL,NULL,'engine.rod_length','136','mm',1,0.13600000000000000976,1800000000);
INSERT INTO field VALUES(37,1,NULL,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8000000000000007105,1800000000);
INSERT INTO field VALUES(38,1,NULL,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(39,1,NULL,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(40,1,NULL,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(41,1,NULL,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(42,1,NULL,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.00010000000000000000479,1800000000);
INSERT INTO field VALUES(43,1,NULL,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(44,1,NULL,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.029999999999999998889,1800000000);
INSERT INTO field VALUES(45,1,NULL,NULL,'engine.intake_valves.lift','8.2','mm',1,0.0081999999999999989563,1800000000);
INSERT INTO field VALUES(46,1,NULL,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(47,1,NULL,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,0.025500000000000001831,1800000000);
INSERT INTO field VALUES(48,1,NULL,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.0080000000000000001665,1800000000);
INSERT INTO field VALUES(49,1,NULL,NULL,'engine.limits.standard','180','psi',1,1241056.3127703052013,1800000000);
INSERT INTO field VALUES(50,1,NULL,NULL,'engine.limits.minimum','140','psi',1,965266.02104357059576,1800000000);
INSERT INTO field VALUES(51,1,NULL,NULL,'engine.limits.spread','25','psi',1,172368.93232920905574,1800000000);
INSERT INTO field VALUES(52,1,NULL,NULL,'gauge.span','300','psi',1,2068427.1879505084362,1800000000);
INSERT INTO field VALUES(53,1,NULL,NULL,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(54,1,NULL,NULL,'gauge.resolution','2','psi',1,13789.514586336723368,1800000000);
INSERT INTO field VALUES(55,1,NULL,NULL,'gauge.hose_volume','11','ml',0,1.0999999999999999713e-05,1800000000);
INSERT INTO field VALUES(56,1,NULL,NULL,'gauge.dead_volume','2','ml',0,1.9999999999999999094e-06,1800000000);
INSERT INTO field VALUES(57,1,NULL,NULL,'conditions.date','2025-11-15',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(58,1,NULL,NULL,'conditions.altitude','310','m',0,310.0,1800000000);
INSERT INTO field VALUES(59,1,NULL,NULL,'conditions.barometer','978','hPa',0,97800.0,1800000000);
INSERT INTO field VALUES(60,1,NULL,NULL,'conditions.air_temperature','8','C',0,281.14999999999997727,1800000000);
INSERT INTO field VALUES(61,1,NULL,NULL,'conditions.engine_temperature','65','C',0,338.14999999999997726,1800000000);
INSERT INTO field VALUES(62,1,NULL,NULL,'conditions.throttle','open',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(63,1,NULL,NULL,'conditions.cranking_speed','240','rpm',0,25.132741228718348479,1800000000);
INSERT INTO field VALUES(64,1,NULL,NULL,'conditions.strokes','6',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(65,1,NULL,NULL,'conditions.odometer','161100','km',0,161100000.0,1800000000);
INSERT INTO field VALUES(66,2,NULL,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(67,2,NULL,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(68,2,NULL,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(69,2,NULL,NULL,'engine.bore','78.4','mm',1,0.078400000000000011346,1800000000);
INSERT INTO field VALUES(70,2,NULL,NULL,'engine.stroke','83.0','mm',1,0.083000000000000004329,1800000000);
INSERT INTO field VALUES(71,2,NULL,NULL,'engine.rod_length','136','mm',1,0.13600000000000000976,1800000000);
INSERT INTO field VALUES(72,2,NULL,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8000000000000007105,1800000000);
INSERT INTO field VALUES(73,2,NULL,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(74,2,NULL,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(75,2,NULL,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(76,2,NULL,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(77,2,NULL,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.00010000000000000000479,1800000000);
INSERT INTO field VALUES(78,2,NULL,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(79,2,NULL,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.029999999999999998889,1800000000);
INSERT INTO field VALUES(80,2,NULL,NULL,'engine.intake_valves.lift','8.2','mm',1,0.0081999999999999989563,1800000000);
INSERT INTO field VALUES(81,2,NULL,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(82,2,NULL,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,0.025500000000000001831,1800000000);
INSERT INTO field VALUES(83,2,NULL,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.0080000000000000001665,1800000000);
INSERT INTO field VALUES(84,2,NULL,NULL,'engine.limits.standard','180','psi',1,1241056.3127703052013,1800000000);
INSERT INTO field VALUES(85,2,NULL,NULL,'engine.limits.minimum','140','psi',1,965266.02104357059576,1800000000);
INSERT INTO field VALUES(86,2,NULL,NULL,'engine.limits.spread','25','psi',1,172368.93232920905574,1800000000);
INSERT INTO field VALUES(87,2,NULL,NULL,'gauge.span','300','psi',1,2068427.1879505084362,1800000000);
INSERT INTO field VALUES(88,2,NULL,NULL,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(89,2,NULL,NULL,'gauge.resolution','2','psi',1,13789.514586336723368,1800000000);
INSERT INTO field VALUES(90,2,NULL,NULL,'gauge.hose_volume','11','ml',0,1.0999999999999999713e-05,1800000000);
INSERT INTO field VALUES(91,2,NULL,NULL,'gauge.dead_volume','2','ml',0,1.9999999999999999094e-06,1800000000);
INSERT INTO field VALUES(92,2,NULL,NULL,'conditions.date','2027-01-16',NULL,NULL,NULL,1800000000);
CREATE TABLE entry (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER NOT NULL REFERENCES sheet (id),
  kind TEXT NOT NULL CHECK (kind IN ('compression', 'wet', 'leakdown', 'observed', 'leaks')),
  first_id INTEGER NOT NULL REFERENCES entry (id), -- where its chain of corrections begins; gives the order in the sheet
  replaces_id INTEGER UNIQUE REFERENCES entry (id),
  deletion INTEGER NOT NULL DEFAULT 0 CHECK (deletion IN (0, 1)),
  cylinder INTEGER CHECK (cylinder BETWEEN 1 AND 32), -- NULL = the engine as a whole, or all
  what TEXT,               -- observed
  absent INTEGER NOT NULL DEFAULT 0 CHECK (absent IN (0, 1)), -- observed: looked for and not there
  heard INTEGER NOT NULL DEFAULT 0,           -- leakdown, a sum: 1 intake, 2 exhaust, 4 oil filler, 8 coolant, 16 nothing
  heard_cylinders INTEGER NOT NULL DEFAULT 0, -- leakdown, a sum: 1 cylinder 1, 2 cylinder 2, 4 cylinder 3 ...
  note TEXT,
  entered_s INTEGER NOT NULL,
  client TEXT UNIQUE,
  CHECK (replaces_id < id AND first_id < id OR replaces_id IS NULL AND first_id = id),
  CHECK (deletion = 0 OR replaces_id IS NOT NULL)
) STRICT;
INSERT INTO entry VALUES(1,1,'compression',1,NULL,0,1,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(2,1,'compression',2,NULL,0,2,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(3,1,'compression',3,NULL,0,3,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(4,1,'compression',4,NULL,0,4,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(5,1,'compression',5,NULL,0,4,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(6,1,'compression',6,NULL,0,3,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(7,1,'compression',7,NULL,0,2,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(8,1,'compression',8,NULL,0,1,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO entry VALUES(9,2,'compression',9,NULL,0,1,NULL,0,0,0,NULL,1800000001,'phone-1');
INSERT INTO entry VALUES(10,2,'compression',9,9,0,1,NULL,0,0,0,NULL,1800000002,'phone-2');
INSERT INTO entry VALUES(11,2,'compression',11,NULL,0,2,NULL,0,0,0,NULL,1800000003,NULL);
INSERT INTO entry VALUES(12,2,'compression',11,11,1,2,NULL,0,0,0,NULL,1800000004,NULL);
CREATE TABLE entry_quantity (
  entry_id INTEGER NOT NULL REFERENCES entry (id),
  name TEXT NOT NULL,
  text TEXT NOT NULL, -- the number as typed
  unit TEXT NOT NULL,
  bare INTEGER NOT NULL CHECK (bare IN (0, 1)),
  value REAL NOT NULL,      -- SI
  resolution REAL NOT NULL, -- one step of the last digit typed, SI
  PRIMARY KEY (entry_id, name)
) STRICT, WITHOUT ROWID;
INSERT INTO entry_quantity VALUES(1,'first_stroke','92','psi',1,634317.67097148927859,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(1,'reading','182','psi',1,1254845.8273566418792,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(2,'first_stroke','90','psi',1,620528.1563851526007,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(2,'reading','178','psi',1,1227266.7981839682906,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(3,'first_stroke','90','psi',1,620528.1563851526007,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(3,'reading','180','psi',1,1241056.3127703052013,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(4,'first_stroke','90','psi',1,620528.1563851526007,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(4,'reading','178','psi',1,1227266.7981839682906,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(5,'reading','180','psi',1,1241056.3127703052013,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(6,'reading','178','psi',1,1227266.7981839682906,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(7,'reading','178','psi',1,1227266.7981839682906,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(8,'reading','180','psi',1,1241056.3127703052013,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(9,'reading','178','psi',0,1227266.7981839682906,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(10,'reading','168','psi',0,1158319.2252522846683,6894.7572931683616843);
INSERT INTO entry_quantity VALUES(11,'reading','12,3','bar',0,1230000.0,10000.0);
CREATE TABLE ledger (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER NOT NULL REFERENCES sheet (id),
  what TEXT NOT NULL CHECK (what <> ''),
  origin TEXT, -- where it came from
  lies TEXT,   -- where it lies now
  torque TEXT, -- from the car's own manual, as typed
  note TEXT,
  taken_s INTEGER NOT NULL,
  put_back_s INTEGER,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO ledger VALUES(1,2,'coil','cylinder 3','bench','10 Nm',NULL,1800000000,NULL,NULL,1800000000,NULL);
CREATE TABLE photo (
  id INTEGER PRIMARY KEY,
  sheet_id INTEGER NOT NULL REFERENCES sheet (id),
  ledger_id INTEGER REFERENCES ledger (id),
  mime TEXT NOT NULL CHECK (mime IN ('image/jpeg', 'image/png', 'image/webp')),
  taken_s INTEGER NOT NULL,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER,
  bytes BLOB NOT NULL -- the last column, so that lists need not pass over it
) STRICT;
INSERT INTO photo VALUES(1,2,1,'image/jpeg',1800000000,NULL,1800000000,NULL,X'ffd8ff00');
CREATE INDEX history_of ON history (table_name, row_id);
CREATE TRIGGER history_is_kept BEFORE DELETE ON history BEGIN
  SELECT raise(ABORT, 'history: rows are kept; mark them as deleted');
END;
CREATE TRIGGER history_is_raw BEFORE UPDATE ON history BEGIN
  SELECT raise(ABORT, 'history: what was entered stays; correct it by a new row');
END;
CREATE TRIGGER setting_is_kept BEFORE DELETE ON setting BEGIN
  SELECT raise(ABORT, 'setting: rows are kept; mark them as deleted');
END;
CREATE TRIGGER setting_history AFTER UPDATE OF text ON setting BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('setting', old.id, json_object('name', old.name, 'text', old.text), old.changed_s, new.changed_s);
END;
CREATE TRIGGER car_is_kept BEFORE DELETE ON car BEGIN
  SELECT raise(ABORT, 'car: rows are kept; mark them as deleted');
END;
CREATE TRIGGER car_history AFTER UPDATE OF name, note, deleted_s ON car BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('car', old.id, json_object('name', old.name, 'note', old.note, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE INDEX engine_of_car ON engine (car_id, begun_day);
CREATE UNIQUE INDEX engine_in_car ON engine (car_id) WHERE ended_day IS NULL;
CREATE TRIGGER engine_is_kept BEFORE DELETE ON engine BEGIN
  SELECT raise(ABORT, 'engine: rows are kept; mark them as deleted');
END;
CREATE TRIGGER engine_history AFTER UPDATE OF name, note, ended_day ON engine BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('engine', old.id, json_object('name', old.name, 'note', old.note, 'ended_day', old.ended_day), old.changed_s, new.changed_s);
END;
CREATE TRIGGER gauge_is_kept BEFORE DELETE ON gauge BEGIN
  SELECT raise(ABORT, 'gauge: rows are kept; mark them as deleted');
END;
CREATE TRIGGER gauge_history AFTER UPDATE OF name, note, deleted_s ON gauge BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('gauge', old.id, json_object('name', old.name, 'note', old.note, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE INDEX event_of_engine ON event (engine_id, day);
CREATE INDEX event_of_car ON event (car_id, day);
CREATE TRIGGER event_is_kept BEFORE DELETE ON event BEGIN
  SELECT raise(ABORT, 'event: rows are kept; mark them as deleted');
END;
CREATE TRIGGER event_history AFTER UPDATE OF engine_id, day, name, note, running_s, distance_m, starts, deleted_s ON event BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('event', old.id, json_object('engine_id', old.engine_id, 'day', old.day, 'name', old.name, 'note', old.note, 'running_s', old.running_s, 'distance_m', old.distance_m, 'starts', old.starts, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE INDEX part_of_engine ON part (engine_id);
CREATE TRIGGER part_is_kept BEFORE DELETE ON part BEGIN
  SELECT raise(ABORT, 'part: rows are kept; mark them as deleted');
END;
CREATE TRIGGER part_history AFTER UPDATE OF name, note, fitted_day, removed_day, carried_running_s, carried_distance_m, carried_starts, deleted_s ON part BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('part', old.id, json_object('name', old.name, 'note', old.note, 'fitted_day', old.fitted_day, 'removed_day', old.removed_day, 'carried_running_s', old.carried_running_s, 'carried_distance_m', old.carried_distance_m, 'carried_starts', old.carried_starts, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE INDEX sheet_of_engine ON sheet (engine_id);
CREATE TRIGGER sheet_is_kept BEFORE DELETE ON sheet BEGIN
  SELECT raise(ABORT, 'sheet: rows are kept; mark them as deleted');
END;
CREATE TRIGGER sheet_history AFTER UPDATE OF engine_id, gauge_id, closed_s, close_reason, deleted_s ON sheet BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('sheet', old.id, json_object('engine_id', old.engine_id, 'gauge_id', old.gauge_id, 'closed_s', old.closed_s, 'close_reason', old.close_reason, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER field_is_kept BEFORE DELETE ON field BEGIN
  SELECT raise(ABORT, 'field: rows are kept; mark them as deleted');
END;
CREATE TRIGGER field_history AFTER UPDATE OF text, unit, bare, value ON field BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('field', old.id, json_object('name', old.name, 'text', old.text, 'unit', old.unit, 'bare', old.bare, 'value', old.value), old.changed_s, new.changed_s);
END;
CREATE INDEX entry_of_sheet ON entry (sheet_id, first_id);
CREATE INDEX entry_chain ON entry (first_id, id);
CREATE TRIGGER entry_is_kept BEFORE DELETE ON entry BEGIN
  SELECT raise(ABORT, 'entry: rows are kept; mark them as deleted');
END;
CREATE TRIGGER entry_is_raw BEFORE UPDATE ON entry BEGIN
  SELECT raise(ABORT, 'entry: what was entered stays; correct it by a new row');
END;
CREATE TRIGGER entry_quantity_is_kept BEFORE DELETE ON entry_quantity BEGIN
  SELECT raise(ABORT, 'entry_quantity: rows are kept; mark them as deleted');
END;
CREATE TRIGGER entry_quantity_is_raw BEFORE UPDATE ON entry_quantity BEGIN
  SELECT raise(ABORT, 'entry_quantity: what was entered stays; correct it by a new row');
END;
CREATE INDEX ledger_of_sheet ON ledger (sheet_id);
CREATE INDEX ledger_open ON ledger (sheet_id) WHERE put_back_s IS NULL AND deleted_s IS NULL;
CREATE TRIGGER ledger_is_kept BEFORE DELETE ON ledger BEGIN
  SELECT raise(ABORT, 'ledger: rows are kept; mark them as deleted');
END;
CREATE TRIGGER ledger_history AFTER UPDATE OF what, origin, lies, torque, note, put_back_s, deleted_s ON ledger BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('ledger', old.id, json_object('what', old.what, 'origin', old.origin, 'lies', old.lies, 'torque', old.torque, 'note', old.note, 'put_back_s', old.put_back_s, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE INDEX photo_of_sheet ON photo (sheet_id);
CREATE TRIGGER photo_is_kept BEFORE DELETE ON photo BEGIN
  SELECT raise(ABORT, 'photo: rows are kept; mark them as deleted');
END;
CREATE TRIGGER photo_history AFTER UPDATE OF deleted_s ON photo BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('photo', old.id, json_object('deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
COMMIT;

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
INSERT INTO history VALUES(1,'spent',1,'{"day":"2027-01-15","work_us":7200000000,"money":3880000000,"note":"kit and release bearing","deleted_s":null}',1800000004,1800000005);
INSERT INTO history VALUES(2,'work',1,'{"done_s":null,"closed_s":null,"close_reason":null,"proof_sheet_id":null,"proof_run_id":null}',1800000000,1800000002);
INSERT INTO history VALUES(3,'work',2,'{"done_s":null,"closed_s":null,"close_reason":null,"proof_sheet_id":null,"proof_run_id":null}',1800000001,1800000007);
INSERT INTO history VALUES(4,'sheet',3,'{"engine_id":1,"gauge_id":null,"closed_s":null,"close_reason":null,"deleted_s":null,"delete_reason":null}',1800000000,1800000008);
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
, sessions INTEGER CHECK (sessions > 0)) STRICT;
INSERT INTO event VALUES(1,1,1,'2025-05-01','hill climb',NULL,7200.0,80000.0,9,NULL,1800000000,NULL,6);
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
, life TEXT CHECK (life <> ''), made_day TEXT, until_day TEXT, part_left_1 REAL CHECK (part_left_1 > 0), depth_m REAL CHECK (depth_m > 0), under_printed INTEGER CHECK (under_printed IN (0, 1)), carried_sessions INTEGER CHECK (carried_sessions >= 0)) STRICT;
INSERT INTO part VALUES(1,1,NULL,'clutch',NULL,'2025-03-01',NULL,36000.0,0.0,0,NULL,1800000000,NULL,'clutch_plate','2024-02-29',NULL,0.69999999999999995559,NULL,0,25);
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
, delete_reason TEXT CHECK (delete_reason IS NULL OR deleted_s IS NOT NULL)) STRICT;
INSERT INTO sheet VALUES(1,1,NULL,1800000000,1800000000,NULL,1,'file-1',1800000000,NULL,NULL);
INSERT INTO sheet VALUES(2,1,1,1800000000,NULL,NULL,7,NULL,1800000000,NULL,NULL);
INSERT INTO sheet VALUES(3,1,NULL,1800000000,NULL,NULL,2,NULL,1800000008,1800000008,'begun by mistake');
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
INSERT INTO field VALUES(93,3,NULL,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(94,3,NULL,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(95,3,NULL,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(96,3,NULL,NULL,'engine.bore','78.4','mm',1,0.078400000000000011346,1800000000);
INSERT INTO field VALUES(97,3,NULL,NULL,'engine.stroke','83.0','mm',1,0.083000000000000004329,1800000000);
INSERT INTO field VALUES(98,3,NULL,NULL,'engine.rod_length','136','mm',1,0.13600000000000000976,1800000000);
INSERT INTO field VALUES(99,3,NULL,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8000000000000007105,1800000000);
INSERT INTO field VALUES(100,3,NULL,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(101,3,NULL,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(102,3,NULL,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,0.94247779607693793479,1800000000);
INSERT INTO field VALUES(103,3,NULL,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,0.20943951023931955957,1800000000);
INSERT INTO field VALUES(104,3,NULL,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.00010000000000000000479,1800000000);
INSERT INTO field VALUES(105,3,NULL,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(106,3,NULL,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.029999999999999998889,1800000000);
INSERT INTO field VALUES(107,3,NULL,NULL,'engine.intake_valves.lift','8.2','mm',1,0.0081999999999999989563,1800000000);
INSERT INTO field VALUES(108,3,NULL,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO field VALUES(109,3,NULL,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,0.025500000000000001831,1800000000);
INSERT INTO field VALUES(110,3,NULL,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.0080000000000000001665,1800000000);
INSERT INTO field VALUES(111,3,NULL,NULL,'engine.limits.standard','180','psi',1,1241056.3127703052013,1800000000);
INSERT INTO field VALUES(112,3,NULL,NULL,'engine.limits.minimum','140','psi',1,965266.02104357059576,1800000000);
INSERT INTO field VALUES(113,3,NULL,NULL,'engine.limits.spread','25','psi',1,172368.93232920905574,1800000000);
INSERT INTO field VALUES(114,3,NULL,NULL,'conditions.date','2027-01-17',NULL,NULL,NULL,1800000000);
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
CREATE TABLE derived (
  sheet_id INTEGER PRIMARY KEY REFERENCES sheet (id),
  revision INTEGER NOT NULL,  -- of the sheet when it was judged
  made_by TEXT NOT NULL,      -- version of the calculation, knowledge and rule that it came from
  numbers BLOB NOT NULL       -- doubles, IEEE 754 binary64, little end first: ch_history_write()
) STRICT;
INSERT INTO derived VALUES(1,1,'4 0 1 fixture',X'00000000000010400000000000000000000000000000f03f23132ae68c9c923edaedbfc5259fdc3f6b2a60b5c441ae3e4119f62caa3bb73e0000000000000000000000000000004008aeef11cf0a3341eaf6be2e30a93341071d22eb6b36c940000000000000000018d8ca4576ce833eb3a3dbfd3582873e80f05309445f8a3e0de0b9c846e38b3eb9cd3a86ecb78d3eb003c6c129598f3e7f8ad9e0fe51903e26f4e36a2a1e913ece2ae699560a923e777b1e1a5cea923ee08e6e3e70fe933ee08e874a4cf5943ed85cf01027ef953e1ca6b34cb9d7963e261c36ce7b05983e49f97da1491b993e5b42151de1fa9a3e1ad65747fa669d3e3fe00312ff72a03edc73b1751416ef3f1c2950cadd0e953f62c811c739aae33e2f4eee423d15fb3edf9158124ab6043f3549fbe42f26173f7833191474e1db3ee9f4be448efd4b3fdc0d8e931ae3423fc82459dff1f65b3ff8684160942e733f0000000000000040d8c855cc02ba3241bd592ddcf44a334107da4c0ccaebc8400000000000000000338a1d894678863ebae69eb123468a3eeb241234a01d8c3e847b05b9d9548e3e17d33986cecb8f3e90e407ed5dc5903eb2497998b1a5913e143beba66ca7923e8fea0ae22dae933e733aa128acc5943ee867490854a6953ec3757f03e592963ebfdeacd7cc91973e67420b99078e983e8d7e21f405b5993e410ad9944a359b3ecac5d35a69339d3eef03605fadc69f3e96bde6a11fcea13e9fe97e34a60def3fe30478e8270a953f1e87158724a7fa3e97870f3ab33c0e3f647bc52b32f7173f9fc294328ce7293f4657119169adf43e74c3ae87d028553fe27cccfa344e4e3f5d7fb18dfc555c3f937a291be53f733f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c9400000000000000000081e36fdd7c7853ee5c2375e7c91893eef547de178798b3ef5391a26c17c8d3ef7a42fb5f94c8f3e62fa9a283151903e7367f347e429913e529341ea2e20923e0447ce54e809933e411e69679828943e173137803014953e610773281d10963e551bd6d841ec963eb3ec9608cdfe973e849ca87af4fc983e612b6bfe41a59a3ecf4d478282399c3ea9ce3aceff119f3e227ca6ac0642a13ef1512a842e11ef3f3534136a310c953fb534a277d0eff23ef7b2a25925af063fba582b471cc7113f2ff0e742a3b0233f6b2b79007fcef73e952ecb718c59523f4fa99e25cdbd493f36d286ca930b5c3fe7946269382a733f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c9400000000000000000cbe6bdb7d6c7853e52d27d287a91893eb986416076798b3e4b1efb33bd7c8d3e2452f4f4f64c8f3e0cb47c652e51903e5a3973c9e129913eb7db68562b20923ec2ae2e73e409933ea020442b9328943ea86555292c14953e673b66aa1610963e7f32a4df3aec963e2ea9aa28c6fe973e9313066eedfc983efeb2532933a59a3eaedf1dd972399c3e3b0eb2f4ee119f3e47780232f441a13ed35378d14811ef3f8431f6914e0c953f3df1544674f0f23ec4ba5946c4af063f785474a5a0c7113f3dd49d5bf5b0233f0942dce8e432e43e6a1ad8e6ab59523fdb547d2405be493ffb4f53719b0b5c3f3995a8e43a2a733f');
INSERT INTO derived VALUES(2,7,'4 0 1 fixture at 310.0',X'00000000000010400000000000000840000000000000f03f23132ae68c9c923edaedbfc5259fdc3f251d5d8fe70cac3eab4923bc9f7bb53e0000000000000000000000000000f03f3c22aa39afac3141aeaf4307c85532410d54291ed453e4400000000000000000a5337805b5e7873e9dfc1d4633c18b3eb514a70b6aa08e3e7f1e984a9a99903e9e44294d60fb913e989cfb0c3307933e158513d3aa21943e941720a63f3e953e2f19d69eab46963e25d65bb6e15f973e45de48c6d47e983e5441c70baea7993e19a3a990e4e89a3e9ad8d10602359c3e6d4241c4ecdf9d3ef176e42670d79f3e6b2f6b8b5e2ca13ee50635bfcd46a33e17ae44ebd466a63e3795561ec304ee3ff093d13f4e32a33fa3868caa20984b3fc9a4cb3529695b3f7d9b885b2474663f62ed69c65cd1643f89e5164666b5413f9b2536b91c33663fdcfbf8bdd8455f3f669ec4f4d9896c3f504596c9a85a803f0000000000000000000000000000f87f000000000000f87f000000000000f87f00000000000000007c7615b1a0b3863e07662f8fa6da8a3e12e07f34c9a18d3eff80b76b87f78f3efae5fb38056e913e2497b6393088923ece60c8ae5ba8933e4d96262b98d1943e6e4f00723801963e67941c81a849973eab600718f48a983e7764e1da73de993e5436657ebc869b3e8ca9ec51c3289d3e10a6eb18b6779f3e3f52a4687a41a13e262487c42aaea33ead3d9e0e2927a93e699e4837ac68cb3e11a583cdfeb2ec3fa03b7acb83bea83f7c2e09ef8e5e7b3f0c25837346ed7c3f35e6b0fb6b49903f5bb0ad536855783fae14c08e8800803f64851f052116713f43068288332a683fd04c7d564199713f00000000000000000000000000000000000000000000f87f000000000000f87f000000000000f87f00000000000000000cbd3b219bbd863edf48c3ea2fe38a3e3d851eb4faae8d3e22b1b50ab502903e3ca0005a8078913e06070bcd7e92923e86636072d8b5933eae0134b14fe3943e5592012d9512963e40a36bf01a5f973eca82a0bc1da7983ee3e6365351019a3ee55e037b87a99b3e7614f42703649d3e60b1854d27b49f3e1ff169e9eb7aa13eca749fec9400a43e5bcfe199c9c3ab3edd6a94520748d03ec59db35c6a80ec3ffe81f51bf396a83fd52e5d3533347b3f6625d7b9eac27c3f14910c7ab630903f3e5b5aa2943a783fac4cbd5464ca8d3f41307b836bfd703f9e06d6ced7ff673fec4c63388c8c713f00000000000000000000000000000000000000000000f87f000000000000f87f000000000000f87f000000000000000049d45a784ab2863e7d4719f594d98a3e2e2138d635a08d3e377022baf3f58f3e3fe8db1ed16c913efebd89141387923e11cf607eeda6933e94ef2303c3cf943efef0e1b37eff953e7949b50d9c47973e91b51ec05188983eca9a8fa518dc993e3fb182a0b4839b3ebef7f82727259d3e9bd116f8bb729f3e82ade574ca3da13eeb343fb475a7a33e0885f234c4f6a83e71051299ef25cb3e0ac92f64c3b6ec3fb4bdf3155dc6a83f1f3db058f5617b3fae332addacf07c3f685952b9674b903fe57d97968f57783fac4cbd5464ca7d3f97f8c0c21c18713fe51429f2992d683fce6a2f76469a713f0000000000000000');
CREATE TABLE drivetrain (
  id INTEGER PRIMARY KEY,
  car_id INTEGER NOT NULL UNIQUE REFERENCES car (id),
  text TEXT,
  changed_s INTEGER NOT NULL
) STRICT;
INSERT INTO drivetrain VALUES(1,1,replace('tyre: 195/50R15\nmass: 900 kg\n','\n',char(10)),1800000000);
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
INSERT INTO run VALUES(1,1,NULL,'2026-10-03',NULL,'invented, "run" 1.csv','0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef',47000000,replace('mass: 900 kg\n','\n',char(10)),replace('Road speed is taken to be in km/h.\nNothing else.','\n',char(10)),'fixture',1800000000,360000,3600.4999999999999999,'gears_found',4,1,3,2,3,2,1,4,0.0,NULL,0.25,0.0,0.0,0.0,0.0,0.0,0.0,0.0,0.0,170.0,181.0,192.0,NULL,NULL,NULL,NULL,'log-1',1800000000,NULL,X'0000000000009643000020410000803f0000003f00009b430000284100000000');
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
INSERT INTO run_gear VALUES(1,0,3,22.5,0.0,0.0040000000000000000832,90.0,0.0);
INSERT INTO run_gear VALUES(1,1,4,16.699999999999999289,0.0,0.0,0.0,NULL);
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
INSERT INTO run_slip VALUES(1,0,4,10.249999999999999999,11.499999999999999999,0.085000000000000006106,0.050000000000000002775,21.0,31.100000000000001421,520.0,NULL,1.8999999999999999111,361.5,181.0,9.0,4800.0,370.0,371.30000000000001137,12.0);
INSERT INTO run_slip VALUES(1,1,3,40.0,42.0,0.2000000000000000111,0.0,0.0,0.0,0.0,1.0,0.0,0.0,0.0,0.0,0.0,0.0,0.0,0.0);
CREATE TABLE run_cause (
  id INTEGER PRIMARY KEY,
  run_id INTEGER NOT NULL REFERENCES run (id),
  cause TEXT NOT NULL,
  chance_1 REAL NOT NULL CHECK (chance_1 BETWEEN 0 AND 1),
  changed_s INTEGER NOT NULL,
  UNIQUE (run_id, cause)
) STRICT;
INSERT INTO run_cause VALUES(1,1,'sound',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(2,1,'worn',0.6500000000000000222,1800000000);
INSERT INTO run_cause VALUES(3,1,'glazed',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(4,1,'oil_contaminated',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(5,1,'pressure_plate',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(6,1,'hydraulic_or_cable',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(7,1,'flywheel',0.050000000000000002775,1800000000);
INSERT INTO run_cause VALUES(8,1,'not_the_clutch',0.050000000000000002775,1800000000);
CREATE TABLE run_sign (
  id INTEGER PRIMARY KEY,
  run_id INTEGER NOT NULL REFERENCES run (id),
  sign TEXT NOT NULL CHECK (sign <> ''),
  present INTEGER CHECK (present IN (0, 1)), -- NULL = no longer given
  changed_s INTEGER NOT NULL,
  UNIQUE (run_id, sign)
) STRICT;
INSERT INTO run_sign VALUES(1,1,'clutch_smell',1,1800000001);
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
INSERT INTO work VALUES(1,1,'access','gearbox_out','Gearbox out',1800000000,1800000002,NULL,NULL,NULL,NULL,1800000002);
INSERT INTO work VALUES(2,1,'job','clutch_kit','Clutch kit',1800000001,1800000007,NULL,NULL,NULL,NULL,1800000007);
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
INSERT INTO spent VALUES(1,2,'2027-01-15',7200000000,3980000000,'kit and release bearing','spent-1',1800000005,NULL);
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
INSERT INTO torque VALUES(1,1,'flywheel_torque','72','N m',72.0,'in two rounds','M10x1.25','10.9','oiled',1800000006);
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
INSERT INTO ledger VALUES(1,2,NULL,'coil','cylinder 3','bench','10 Nm',NULL,1800000000,NULL,NULL,1800000000,NULL);
INSERT INTO ledger VALUES(2,NULL,1,'Gearbox',NULL,'under the bench',NULL,NULL,1800000002,NULL,'box-1',1800000002,NULL);
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
INSERT INTO photo VALUES(1,2,NULL,1,'image/jpeg',1800000000,NULL,1800000000,NULL,X'ffd8ff00');
INSERT INTO photo VALUES(2,NULL,1,2,'image/jpeg',1800000003,NULL,1800000003,NULL,X'ffd8ff01');
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
CREATE INDEX part_of_engine ON part (engine_id);
CREATE TRIGGER part_is_kept BEFORE DELETE ON part BEGIN
  SELECT raise(ABORT, 'part: rows are kept; mark them as deleted');
END;
CREATE INDEX sheet_of_engine ON sheet (engine_id);
CREATE TRIGGER sheet_is_kept BEFORE DELETE ON sheet BEGIN
  SELECT raise(ABORT, 'sheet: rows are kept; mark them as deleted');
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
CREATE TRIGGER event_history AFTER UPDATE OF engine_id, day, name, note, running_s, distance_m, starts, sessions, deleted_s ON event BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('event', old.id, json_object('engine_id', old.engine_id, 'day', old.day, 'name', old.name, 'note', old.note, 'running_s', old.running_s, 'distance_m', old.distance_m, 'starts', old.starts, 'sessions', old.sessions, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER part_history AFTER UPDATE OF name, note, fitted_day, removed_day, carried_running_s, carried_distance_m, carried_starts, carried_sessions, life, made_day, until_day, part_left_1, depth_m, under_printed, deleted_s ON part BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('part', old.id, json_object('name', old.name, 'note', old.note, 'fitted_day', old.fitted_day, 'removed_day', old.removed_day, 'carried_running_s', old.carried_running_s, 'carried_distance_m', old.carried_distance_m, 'carried_starts', old.carried_starts, 'carried_sessions', old.carried_sessions, 'life', old.life, 'made_day', old.made_day, 'until_day', old.until_day, 'part_left_1', old.part_left_1, 'depth_m', old.depth_m, 'under_printed', old.under_printed, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER drivetrain_is_kept BEFORE DELETE ON drivetrain BEGIN
  SELECT raise(ABORT, 'drivetrain: rows are kept; mark them as deleted');
END;
CREATE TRIGGER drivetrain_history AFTER UPDATE OF text ON drivetrain BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('drivetrain', old.id, json_object('car_id', old.car_id, 'text', old.text), old.changed_s, new.changed_s);
END;
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
CREATE TRIGGER run_gear_is_kept BEFORE DELETE ON run_gear BEGIN
  SELECT raise(ABORT, 'run_gear: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_gear_is_raw BEFORE UPDATE ON run_gear BEGIN
  SELECT raise(ABORT, 'run_gear: what was judged stays; judge the log anew');
END;
CREATE TRIGGER run_slip_is_kept BEFORE DELETE ON run_slip BEGIN
  SELECT raise(ABORT, 'run_slip: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_slip_is_raw BEFORE UPDATE ON run_slip BEGIN
  SELECT raise(ABORT, 'run_slip: what was judged stays; judge the log anew');
END;
CREATE TRIGGER run_cause_is_kept BEFORE DELETE ON run_cause BEGIN
  SELECT raise(ABORT, 'run_cause: rows are kept; mark the run as deleted');
END;
CREATE TRIGGER run_cause_history AFTER UPDATE OF chance_1 ON run_cause BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('run_cause', old.id, json_object('run_id', old.run_id, 'cause', old.cause, 'chance_1', old.chance_1), old.changed_s, new.changed_s);
END;
CREATE TRIGGER run_sign_is_kept BEFORE DELETE ON run_sign BEGIN
  SELECT raise(ABORT, 'run_sign: rows are kept; mark them as deleted');
END;
CREATE TRIGGER run_sign_history AFTER UPDATE OF present ON run_sign BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('run_sign', old.id, json_object('run_id', old.run_id, 'sign', old.sign, 'present', old.present), old.changed_s, new.changed_s);
END;
CREATE INDEX work_of_car ON work (car_id);
CREATE UNIQUE INDEX work_in_hand ON work (car_id, kind, name) WHERE closed_s IS NULL;
CREATE TRIGGER work_is_kept BEFORE DELETE ON work BEGIN
  SELECT raise(ABORT, 'work: rows are kept');
END;
CREATE TRIGGER work_history AFTER UPDATE OF done_s, closed_s, close_reason, proof_sheet_id, proof_run_id ON work BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('work', old.id, json_object('done_s', old.done_s, 'closed_s', old.closed_s, 'close_reason', old.close_reason, 'proof_sheet_id', old.proof_sheet_id, 'proof_run_id', old.proof_run_id), old.changed_s, new.changed_s);
END;
CREATE INDEX spent_on_work ON spent (work_id);
CREATE TRIGGER spent_is_kept BEFORE DELETE ON spent BEGIN
  SELECT raise(ABORT, 'spent: rows are kept; mark them as deleted');
END;
CREATE TRIGGER spent_history AFTER UPDATE OF day, work_us, money, note, deleted_s ON spent BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('spent', old.id, json_object('day', old.day, 'work_us', old.work_us, 'money', old.money, 'note', old.note, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER torque_is_kept BEFORE DELETE ON torque BEGIN
  SELECT raise(ABORT, 'torque: rows are kept');
END;
CREATE TRIGGER torque_history AFTER UPDATE OF text, unit, value, note, thread, property_class, surface ON torque BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('torque', old.id, json_object('text', old.text, 'unit', old.unit, 'value', old.value, 'note', old.note, 'thread', old.thread, 'property_class', old.property_class, 'surface', old.surface), old.changed_s, new.changed_s);
END;
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
CREATE INDEX photo_of_sheet ON photo (sheet_id);
CREATE INDEX photo_of_work ON photo (work_id);
CREATE TRIGGER photo_is_kept BEFORE DELETE ON photo BEGIN
  SELECT raise(ABORT, 'photo: rows are kept; mark them as deleted');
END;
CREATE TRIGGER photo_history AFTER UPDATE OF deleted_s ON photo BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('photo', old.id, json_object('deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER sheet_history AFTER UPDATE OF engine_id, gauge_id, closed_s, close_reason, deleted_s, delete_reason ON sheet BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('sheet', old.id, json_object('engine_id', old.engine_id, 'gauge_id', old.gauge_id, 'closed_s', old.closed_s, 'close_reason', old.close_reason, 'deleted_s', old.deleted_s, 'delete_reason', old.delete_reason), old.changed_s, new.changed_s);
END;
COMMIT;

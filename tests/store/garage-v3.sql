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
CREATE TABLE derived (
  sheet_id INTEGER PRIMARY KEY REFERENCES sheet (id),
  revision INTEGER NOT NULL,  -- of the sheet when it was judged
  made_by TEXT NOT NULL,      -- version of the calculation, knowledge and rule that it came from
  numbers BLOB NOT NULL       -- doubles, IEEE 754 binary64, little end first: ch_history_write()
) STRICT;
INSERT INTO derived VALUES(1,1,'1 0 1 fixture',X'00000000000010400000000000000000000000000000f03f23132ae68c9c923edaedbfc5259fdc3f6b2a60b5c441ae3e4119f62caa3bb73e000000000000004008aeef11cf0a3341eaf6be2e30a93341071d22eb6b36c94002cfed281ba1843ece822d75a49e863e20126af759af883e5087b9ce772d8a3e765c458064b48b3eee872a378a428d3ec2d04ddee2a58e3e614ecfe69f08903ebc61f9a867c2903ed036d961db8e913e7144d5a20368923eaea51790a346933e604ec3d0983d943ee01a014ca247953e54175a8b4559963e65d6194cddc8973eb4bf9112184e993eb7a858cc42a49b3e8d18ecc60ce89e3ea05323574fb1ef3f4aa282a3c006403f145969132773a63e7c54c51aab17e23ec3745f4d6b1dee3e8f52efa66afb0a3f3efd565bf11dbc3e6f7dd00f434c4e3fecb61e354d64343f75680b03261f673fb7e9434a9567743f0000000000000040d8c855cc02ba3241bd592ddcf44a334107da4c0ccaebc84067a2e778e611853ede8222c5dd65873e150377739074893ef43a3ace04238b3e1544e03003de8c3ed2185f1336668e3ebb950d26e1e98f3e0982e93575bb903e5e9e2dd4d88f913e56cb5f29b76e923ee10ed8965753933e6da1c6234348943ead70da59f348953e659c62e8b450963ef6f7b60381a1973e98c4848fcb06993e900c46e4b7ea9a3e36038ffb5b3e9d3e0ee34070ea4aa03e2d0fdbc5e0a8ef3fe231bcecf8c7403f654e7d995a75c33e2755c4d6079ffd3e00a016a5e4a8083f3b50d96bf874243f47d55dd21733d63e8b0e9d26fa0e593f27eca3bae103413f02461e0be358673f4d798ea85d6b743f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c940b1fab4a0c3eb843e7bf4afb99c21873efe0aa4d79932893e181212e192cf8a3eb693b1c123788c3e2c0357a05c048e3eec0ea2a7737c8f3e58ce90cfb47e903e564edf101149913ec60821c9a723923ec739f442d403933eba13633821f0933eed9d63727df0943e37ae099ff7f7953e3b25e8738c32973ebb45bd76cb9b983e939452c53a5a9a3edf4dd013cf9b9c3ec253f26c77eb9f3e33e5095ff5acef3f340fa705ba87403f0f0c5785b340b93e058383b54ea1f33eaae3ae2d0c57003f4cbefde88ee91b3f391796e721b7d93ecc02ce2b1704553f049e9879aa703c3f7da0c577791a673fbc9581951433743f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c94025ed7c4ac3eb843e14a93eff9b21873eea803a0c9932893eebf69bbd91cf8a3e8768664122788c3e9bf85b095b048e3e68d09eb8717c8f3eb98014aab37e903e321532a00f49913ea561eb24a623923e739ed168d203933ec737e7fa1ef0933e4cc556fc7af0943e0bf7b8edf4f7953e45fa7ec08832973e1ed1c894c79b983ec32cfcf8345a9a3e201b4677c99b9c3e985731df70eb9f3e897b7ae3fcacef3fa93764b7ba87403fd36e56a41141b93ea89dad2d87a1f33e8f642c823b57003f3240c276c4e91b3fa0021cd80c17c53e40088eb02304553f6df6e797bc703c3fdfc882287b1a673fb9f52f9f1633743f');
INSERT INTO derived VALUES(2,7,'1 0 1 fixture',X'00000000000010400000000000000840000000000000f03f23132ae68c9c923edaedbfc5259fdc3f371043013f05ac3e2cefc9fc7075b53e000000000000f03f3c22aa39afac31413c22aa39afac31417bb73e39314ce6405ce1b19c2937873e431908cbc7b58a3e0564e8b6c5948d3e9d3a428276a78f3e39f07173f8e5903ecbebc1cc34e7913ea3efd26f23ed923e9188b06b54f4933e2423e693dcf5943ea69cb68992fe953eb625b7191e22973e42dab699df5c983e3db5d76782b6993e70113c0ac9b89b3e45fdaaa849c59d3e7d35017188db9f3e191a93291f9ca13ecceefe0530aaa43ea32f16dd7df6ab3e6540889a9cd1ec3fbafaecaf5bdaa63fe9b098733ed3333fce87e35271075c3ff738e4e1cb2e673f2315eceb0352753f8df79431bb30343f7c81c2cc52e26c3f4a5673105219523f26acd1ad0a4f803fb1934d85b74ba03f0000000000000000000000000000f87f000000000000f87f000000000000f87f7174faff6abf863ef400e938db208a3e356db79cbae38c3e473992baaff28e3ee5b25bf4ef7c903e4472c064d87e913e6a968c27397e923e79b6e73e2d85933e8b8570d3bf8f943efdcc301ba5a1953e9e4879a228c9963ecb4dc5aa9a20983eb8effb928589993e57babef797c09b3e081fe2b55a0b9e3e395a603e1242a03e70d4ab7fefa4a23eec7be386448ba83ec4cbd5837831c83e5189664a40c5eb3fc42123b556bfac3fbec5d388d3b66f3fb713a9bf2f617a3fc0832c304aa8853fcfa77ec0ead17b3f2a10f89f5a99643f9d420de06c5f693fc37cbc61e7c64d3f1c38f2c32c89813fd61e5349ce07a13f0000000000000000000000000000f87f000000000000f87f000000000000f87f29c368b10ac1863e6682f83416238a3e89a4665653e78c3e6b2d629632f68e3ee5c63125417f903e5fb4cb018c81913e964687aa8481923ebd5b0b111989933ee82dc4914994943eb13041dbe7a6953ec1da9ef543d0963e4b6393caae28983e3dd0f3677497993e9f586a1681d09b3e86fc0dc6e21c9e3ec0fae8149952a03e97674208d0c7a23ed160e4df1709a93eb5bc3317a159c93e4d90aa4566b6eb3f84b7df83d8bdac3f5b58afd0e6a66f3fabc18d353e557a3f54bf153d569e853f2d716c64f4c97b3f3e71c5394313723f9bf0f1557b53693f5d0f98a9fab64d3f9d636b613086813f33914eb2d005a13f0000000000000000000000000000f87f000000000000f87f000000000000f87f3219387bb1be863ee5d465fbfc1f8a3ef3625e376fe28c3e59a963bb8df18e3e1b6981533e7c903e2c4211e4157e913ea93709f6587d923e180381c52d84933e4b02fb63ab8e943eddf969f676a0953ed0ced421a3c7963eba693613ee1e983e3e969947b786993e346d179681bd9b3eb6b6209f16089e3ef5cf2c6b1f3fa03ee08750dcfa9ea23e14c44f6e367ba83eaac4a3d4ff0dc83ec3a7d34ea9c7eb3f55c47abb94bfac3ffde0cf2169b96f3f1b2866f21f637a3fce14caafe7a9853f7eb5fc8c35d37b3f3e71c5394313623f0957ca125d61693f0a98b8fa7cc94d3f3c7da1d0a889813f47a272fc2008a13f');
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
CREATE TRIGGER event_history AFTER UPDATE OF engine_id, day, name, note, running_s, distance_m, starts, sessions, deleted_s ON event BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('event', old.id, json_object('engine_id', old.engine_id, 'day', old.day, 'name', old.name, 'note', old.note, 'running_s', old.running_s, 'distance_m', old.distance_m, 'starts', old.starts, 'sessions', old.sessions, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
CREATE TRIGGER part_history AFTER UPDATE OF name, note, fitted_day, removed_day, carried_running_s, carried_distance_m, carried_starts, carried_sessions, life, made_day, until_day, part_left_1, depth_m, under_printed, deleted_s ON part BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('part', old.id, json_object('name', old.name, 'note', old.note, 'fitted_day', old.fitted_day, 'removed_day', old.removed_day, 'carried_running_s', old.carried_running_s, 'carried_distance_m', old.carried_distance_m, 'carried_starts', old.carried_starts, 'carried_sessions', old.carried_sessions, 'life', old.life, 'made_day', old.made_day, 'until_day', old.until_day, 'part_left_1', old.part_left_1, 'depth_m', old.depth_m, 'under_printed', old.under_printed, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;
COMMIT;

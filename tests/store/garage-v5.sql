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
CREATE TABLE derived (
  sheet_id INTEGER PRIMARY KEY REFERENCES sheet (id),
  revision INTEGER NOT NULL,  -- of the sheet when it was judged
  made_by TEXT NOT NULL,      -- version of the calculation, knowledge and rule that it came from
  numbers BLOB NOT NULL       -- doubles, IEEE 754 binary64, little end first: ch_history_write()
) STRICT;
INSERT INTO derived VALUES(1,1,'1 0 1 fixture',X'00000000000010400000000000000000000000000000f03f23132ae68c9c923edaedbfc5259fdc3f6b2a60b5c441ae3e4119f62caa3bb73e000000000000004008aeef11cf0a3341eaf6be2e30a93341071d22eb6b36c9401782056dda5f853eb6d79f6fd0e3873ebef6561647c5893e6e486be5345d8b3ed5dab8e755008d3ede2be5c4656c8e3e5e87cb6275d88f3e0244bc9963a6903e945a7ee3c168913e584bc56f8933923e82a8cfdd1a03933eb2ec252250de933effc38fb92ed2943e892dbe3b81cc953eeb31d79489ef963efcabdc329b59983ec15e0e2426ff993e7169dc7fb8589c3ef67ee855a58a9f3edfed46e0ccccef3fcc2d87b43809383f412c00d1503ea63e3d8f36833377e13e7d243fcd5727ed3e72d5ca24a6e80a3f5f4f2322ce6ebb3ef26b039142684e3f460322df4b79343fb4734ad425b5663f7c72b9960b695d3f0000000000000040d8c855cc02ba3241bd592ddcf44a334107da4c0ccaebc84085f28f7609dd853e41ce4d08a1c8883edf2166d1728c8a3ebcd780d33e5e8c3eb6bd7078d3078e3e303da7333d918f3eb03927ad2d92903e06897238cf5f913e7c1704ec5d31923e2118f3300b08933e4a1e53d734e8933e6df2f15d9cd7943e72a35a2a3acd953e466c57d9f0e3963e8b0915dc7835983ee8c17477e29c993e4a70e63f8d9f9b3e6d4e949b3cff9d3e1e0e36a8ffa3a03ea7ffc2f405c4ef3fdb38e9f135fa383fcdc540af6753c33e3d7f8ab5f598fc3ed97aeccb41e0073fe6278ef77365243fdf496a27b091d53e257c3993602e593fc0625160ca1a413f3185dbda9ffb663fa1cc46bc33255e3f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c940f95385ef13b2853e357605f87284883e020e75fcfa488a3e6b27cb3f87068c3ee8bceb4536b28d3e2a2a0019702e8f3e9fd4488de359903e4ee5f2f96021913edfbb01e98bee913e9065584aa8c0923e85a1109bd497933e8abd309eff84943eb2173ed0e978953eede6444c3e74963eb3afb7e84dc8973ed90ec55e1228993e316ec6887c169b3ec09935502c6a9d3eb531545ba53ca03e4d8b0fd933c8ef3f13072e4328a0383fe091f4d9c912b93e4080bc98c2f3f23eae52b0c054a4ff3e06fb6d3c36d31b3f1cceeb8898f5d83e1f107b31a41b553f98f5158862933c3f448e0dd863bc663f1e42564031105d3f0000000000000040e8bf338ef1d43241145baa9a536a3341331dc2969604c940831fe19713b2853eb111b3317284883e13dbe036fa488a3e1498b62086068c3e7dec311035b28d3eee08e68f6e2e8f3ed1c3229de259903e3a25a1da5f21913e1256d5988aee913e026621c7a6c0923e4d5b8be2d297933e4275fa90fd84943ef48cb68ee778953e5f17bd0a3b74963e007ee36f4ac8973e6ab2d2ab0e28993e3ecba42a77169b3ecdedc0bb256a9d3eb413c212a03ca03e8a0a7b233bc8ef3f60665b9b29a0383fedd238cb2413b93e125c5818f9f3f23e001e0b1cb0a4ff3efcb3c2ca69d31b3f43b014d4377fc43e1b68821fb01b553f517906cc73933c3fbc71007565bc663fe996f4ff38105d3f');
INSERT INTO derived VALUES(2,7,'1 0 1 fixture',X'00000000000010400000000000000840000000000000f03f23132ae68c9c923edaedbfc5259fdc3f371043013f05ac3e2cefc9fc7075b53e000000000000f03f3c22aa39afac31413c22aa39afac31417bb73e39314ce6407495686e2a44893e1270f68aedb98c3e58f5f73f662a8f3e4efd40c91ac2903ef499c0f530c7913e9a6ad9375ec6923e98850ed09ac9933e46bf1b806ec3943eac3f06b40bc4953edd3ebe2486d8963e5727f401100e983eefce38f1334d993ee7e5da7ec5e39a3eb12af6539a969c3e5210b1cbc4809e3e642b6d89174ca03e7fc2416befb6a13ed8703534dc3fa43e3637d65596b9a93ec454e23a702eed3fafe1dac69655a13f66474d1ba83c323f37a8edc773d25c3f66e40c3bf5a7673f7971df5ac157743f11680c6b79c7323f8a1773d229bb6c3fa56743c24608523f2d9b40e9808f803f1f821d1d7d0da03f0000000000000000000000000000f87f000000000000f87f000000000000f87ff9f8269a77f6883ee9fc66002d178c3ed8b412a0f8988e3e6bc18b2a6365903e3812daf05573913e22abeab34670923e0541857fa874933e465014352578943e78f8ad095881953ee80d03df9796963efd052ac2e4d4973ec83d35216a1d993eff967afd80c49a3e56719e3fb09d9c3e624a5a0829d69e3ebaa19cfa7cc2a03e6a0f831575d9a23e4e8736cf087ca73e2ec1a1308886c53e84f0f7e39cfeeb3f5574652de0cda83f20f6149bcef76f3fe7f5fa1c603c7b3f0456ea464752863f52dc30c336de7b3fb3f00342a6a9643fd84d8ace3d92693fa18395f668044e3f94484c712104823f78d873ba17f4a03f0000000000000000000000000000f87f000000000000f87f000000000000f87f33bc9ae5baf7883ed6dae776f5198c3e2968b506de9b8e3e5f3349536e67903eb1b432789a75913e8c48e5fb1e73923ebd3218bb1c78933ecf34e7151d7c943efc794284fe85953eeb7e888dac9c963e44b87f04d9db973e7c9e32bb4a25993eeb58a6666fd09a3e5c23ba132eab9c3e5e4f28b5e4e79e3e4690c8c327d0a03e23e41357bcf7a23e19c88b3d81d3a73e5995b4d642adc63e3f034d0f5defeb3f3df517c057cca83f7155dab774e76f3f7ffd8eb21c307b3f9eb1e5180f48863f058c93d109d67b3fab63a214b750723f69551e64fa85693f09e35a130ff44d3f784ab1961001823f65840c7e0cf2a03f0000000000000000000000000000f87f000000000000f87f000000000000f87f8bf01698f7f5883e8903fadb38168c3e295ab26414988e3e01da2c38ce64903efab90e1ebb72913eb184cb41906f923ee94b5cf0d473933ef4f8d6524177943ed9174abe5b80953ebca8f8f25c95963eb9908c8c89d3973e163060e2ec1b993e238ce78854c29a3e08dc1037519b9c3e73d101032ed39e3e8a21f73248c0a03e6b238279c1d4a23e07b18cb31f6fa73ef19dea384267c53e92ff61c8da00ec3f2713f5dd19cea83f503f66f635fa6f3fe6ec77a12d3e7b3fd123fddfc753863fe480d9706adf7b3fab63a214b750623fd74407530b94693fe1cce651d0064e3f55866bd29404823fa801dea564f4a03f');
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
COMMIT;

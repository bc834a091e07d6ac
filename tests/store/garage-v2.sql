PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE car (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  client TEXT UNIQUE, -- the id that the sender made up, so that a repeated sending is known
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO "car" VALUES(1,'invented hill climb car','for tests','car-1',1800000000,NULL);
CREATE TABLE derived (
  sheet_id INTEGER PRIMARY KEY REFERENCES sheet (id),
  revision INTEGER NOT NULL,  -- of the sheet when it was judged
  made_by TEXT NOT NULL,      -- version of the calculation, knowledge and rule that it came from
  numbers BLOB NOT NULL       -- doubles, IEEE 754 binary64, little end first: ch_history_write()
) STRICT;
INSERT INTO "derived" VALUES(1,1,'1 0 1 fixture',X'00000000000010400000000000000000000000000000F03F23132AE68C9C923EDAEDBFC5259FDC3F6B2A60B5C441AE3E4119F62CAA3BB73E000000000000004008AEEF11CF0A3341EAF6BE2E30A93341071D22EB6B36C94002CFED281BA1843ECE822D75A49E863E20126AF759AF883E5087B9CE772D8A3E765C458064B48B3EEE872A378A428D3EC2D04DDEE2A58E3E614ECFE69F08903EBC61F9A867C2903ED036D961DB8E913E7144D5A20368923EAEA51790A346933E604EC3D0983D943EE01A014CA247953E54175A8B4559963E65D6194CDDC8973EB4BF9112184E993EB7A858CC42A49B3E8D18ECC60CE89E3EA05323574FB1EF3F4AA282A3C006403F145969132773A63E7C54C51AAB17E23EC3745F4D6B1DEE3E8F52EFA66AFB0A3F3EFD565BF11DBC3E6F7DD00F434C4E3FECB61E354D64343F75680B03261F673FB7E9434A9567743F0000000000000040D8C855CC02BA3241BD592DDCF44A334107DA4C0CCAEBC84067A2E778E611853EDE8222C5DD65873E150377739074893EF43A3ACE04238B3E1544E03003DE8C3ED2185F1336668E3EBB950D26E1E98F3E0982E93575BB903E5E9E2DD4D88F913E56CB5F29B76E923EE10ED8965753933E6DA1C6234348943EAD70DA59F348953E659C62E8B450963EF6F7B60381A1973E98C4848FCB06993E900C46E4B7EA9A3E36038FFB5B3E9D3E0EE34070EA4AA03E2D0FDBC5E0A8EF3FE231BCECF8C7403F654E7D995A75C33E2755C4D6079FFD3E00A016A5E4A8083F3B50D96BF874243F47D55DD21733D63E8B0E9D26FA0E593F27ECA3BAE103413F02461E0BE358673F4D798EA85D6B743F0000000000000040E8BF338EF1D43241145BAA9A536A3341331DC2969604C940B1FAB4A0C3EB843E7BF4AFB99C21873EFE0AA4D79932893E181212E192CF8A3EB693B1C123788C3E2C0357A05C048E3EEC0EA2A7737C8F3E58CE90CFB47E903E564EDF101149913EC60821C9A723923EC739F442D403933EBA13633821F0933EED9D63727DF0943E37AE099FF7F7953E3B25E8738C32973EBB45BD76CB9B983E939452C53A5A9A3EDF4DD013CF9B9C3EC253F26C77EB9F3E33E5095FF5ACEF3F340FA705BA87403F0F0C5785B340B93E058383B54EA1F33EAAE3AE2D0C57003F4CBEFDE88EE91B3F391796E721B7D93ECC02CE2B1704553F049E9879AA703C3F7DA0C577791A673FBC9581951433743F0000000000000040E8BF338EF1D43241145BAA9A536A3341331DC2969604C94025ED7C4AC3EB843E14A93EFF9B21873EEA803A0C9932893EEBF69BBD91CF8A3E8768664122788C3E9BF85B095B048E3E68D09EB8717C8F3EB98014AAB37E903E321532A00F49913EA561EB24A623923E739ED168D203933EC737E7FA1EF0933E4CC556FC7AF0943E0BF7B8EDF4F7953E45FA7EC08832973E1ED1C894C79B983EC32CFCF8345A9A3E201B4677C99B9C3E985731DF70EB9F3E897B7AE3FCACEF3FA93764B7BA87403FD36E56A41141B93EA89DAD2D87A1F33E8F642C823B57003F3240C276C4E91B3FA0021CD80C17C53E40088EB02304553F6DF6E797BC703C3FDFC882287B1A673FB9F52F9F1633743F');
INSERT INTO "derived" VALUES(2,7,'1 0 1 fixture',X'00000000000010400000000000000840000000000000F03F23132AE68C9C923EDAEDBFC5259FDC3F371043013F05AC3E2CEFC9FC7075B53E000000000000F03F3C22AA39AFAC31413C22AA39AFAC31417BB73E39314CE6405CE1B19C2937873E431908CBC7B58A3E0564E8B6C5948D3E9D3A428276A78F3E39F07173F8E5903ECBEBC1CC34E7913EA3EFD26F23ED923E9188B06B54F4933E2423E693DCF5943EA69CB68992FE953EB625B7191E22973E42DAB699DF5C983E3DB5D76782B6993E70113C0AC9B89B3E45FDAAA849C59D3E7D35017188DB9F3E191A93291F9CA13ECCEEFE0530AAA43EA32F16DD7DF6AB3E6540889A9CD1EC3FBAFAECAF5BDAA63FE9B098733ED3333FCE87E35271075C3FF738E4E1CB2E673F2315ECEB0352753F8DF79431BB30343F7C81C2CC52E26C3F4A5673105219523F26ACD1AD0A4F803FB1934D85B74BA03F0000000000000000000000000000F87F000000000000F87F000000000000F87F7174FAFF6ABF863EF400E938DB208A3E356DB79CBAE38C3E473992BAAFF28E3EE5B25BF4EF7C903E4472C064D87E913E6A968C27397E923E79B6E73E2D85933E8B8570D3BF8F943EFDCC301BA5A1953E9E4879A228C9963ECB4DC5AA9A20983EB8EFFB928589993E57BABEF797C09B3E081FE2B55A0B9E3E395A603E1242A03E70D4AB7FEFA4A23EEC7BE386448BA83EC4CBD5837831C83E5189664A40C5EB3FC42123B556BFAC3FBEC5D388D3B66F3FB713A9BF2F617A3FC0832C304AA8853FCFA77EC0EAD17B3F2A10F89F5A99643F9D420DE06C5F693FC37CBC61E7C64D3F1C38F2C32C89813FD61E5349CE07A13F0000000000000000000000000000F87F000000000000F87F000000000000F87F29C368B10AC1863E6682F83416238A3E89A4665653E78C3E6B2D629632F68E3EE5C63125417F903E5FB4CB018C81913E964687AA8481923EBD5B0B111989933EE82DC4914994943EB13041DBE7A6953EC1DA9EF543D0963E4B6393CAAE28983E3DD0F3677497993E9F586A1681D09B3E86FC0DC6E21C9E3EC0FAE8149952A03E97674208D0C7A23ED160E4DF1709A93EB5BC3317A159C93E4D90AA4566B6EB3F84B7DF83D8BDAC3F5B58AFD0E6A66F3FABC18D353E557A3F54BF153D569E853F2D716C64F4C97B3F3E71C5394313723F9BF0F1557B53693F5D0F98A9FAB64D3F9D636B613086813F33914EB2D005A13F0000000000000000000000000000F87F000000000000F87F000000000000F87F3219387BB1BE863EE5D465FBFC1F8A3EF3625E376FE28C3E59A963BB8DF18E3E1B6981533E7C903E2C4211E4157E913EA93709F6587D923E180381C52D84933E4B02FB63AB8E943EDDF969F676A0953ED0CED421A3C7963EBA693613EE1E983E3E969947B786993E346D179681BD9B3EB6B6209F16089E3EF5CF2C6B1F3FA03EE08750DCFA9EA23E14C44F6E367BA83EAAC4A3D4FF0DC83EC3A7D34EA9C7EB3F55C47ABB94BFAC3FFDE0CF2169B96F3F1B2866F21F637A3FCE14CAAFE7A9853F7EB5FC8C35D37B3F3E71C5394313623F0957CA125D61693F0A98B8FA7CC94D3F3C7DA1D0A889813F47A272FC2008A13F');
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
INSERT INTO "engine" VALUES(1,1,NULL,'invented four',NULL,'first','2025-03-01',NULL,NULL,1800000000);
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
INSERT INTO "entry" VALUES(1,1,'compression',1,NULL,0,1,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(2,1,'compression',2,NULL,0,2,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(3,1,'compression',3,NULL,0,3,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(4,1,'compression',4,NULL,0,4,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(5,1,'compression',5,NULL,0,4,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(6,1,'compression',6,NULL,0,3,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(7,1,'compression',7,NULL,0,2,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(8,1,'compression',8,NULL,0,1,NULL,0,0,0,NULL,1800000000,NULL);
INSERT INTO "entry" VALUES(9,2,'compression',9,NULL,0,1,NULL,0,0,0,NULL,1800000001,'phone-1');
INSERT INTO "entry" VALUES(10,2,'compression',9,9,0,1,NULL,0,0,0,NULL,1800000002,'phone-2');
INSERT INTO "entry" VALUES(11,2,'compression',11,NULL,0,2,NULL,0,0,0,NULL,1800000003,NULL);
INSERT INTO "entry" VALUES(12,2,'compression',11,11,1,2,NULL,0,0,0,NULL,1800000004,NULL);
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
INSERT INTO "entry_quantity" VALUES(1,'first_stroke','92','psi',1,6.34317670971489278594e+05,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(1,'reading','182','psi',1,1.25484582735664187925e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(2,'first_stroke','90','psi',1,6.20528156385152600705e+05,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(2,'reading','178','psi',1,1.22726679818396829069e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(3,'first_stroke','90','psi',1,6.20528156385152600705e+05,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(3,'reading','180','psi',1,1.24105631277030520136e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(4,'first_stroke','90','psi',1,6.20528156385152600705e+05,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(4,'reading','178','psi',1,1.22726679818396829069e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(5,'reading','180','psi',1,1.24105631277030520136e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(6,'reading','178','psi',1,1.22726679818396829069e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(7,'reading','178','psi',1,1.22726679818396829069e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(8,'reading','180','psi',1,1.24105631277030520136e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(9,'reading','178','psi',0,1.22726679818396829069e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(10,'reading','168','psi',0,1.15831922525228466836e+06,6.89475729316836168439e+03);
INSERT INTO "entry_quantity" VALUES(11,'reading','12,3','bar',0,1230000.0,10000.0);
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
INSERT INTO "event" VALUES(1,1,1,'2025-05-01','hill climb',NULL,7200.0,80000.0,9,NULL,1800000000,NULL);
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
INSERT INTO "field" VALUES(1,NULL,1,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(2,NULL,1,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(3,NULL,1,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(4,NULL,1,NULL,'engine.bore','78.4','mm',1,7.84000000000000113464e-02,1800000000);
INSERT INTO "field" VALUES(5,NULL,1,NULL,'engine.stroke','83.0','mm',1,0.083,1800000000);
INSERT INTO "field" VALUES(6,NULL,1,NULL,'engine.rod_length','136','mm',1,0.136,1800000000);
INSERT INTO "field" VALUES(7,NULL,1,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8,1800000000);
INSERT INTO "field" VALUES(8,NULL,1,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(9,NULL,1,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(10,NULL,1,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(11,NULL,1,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(12,NULL,1,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.0001,1800000000);
INSERT INTO "field" VALUES(13,NULL,1,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(14,NULL,1,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.03,1800000000);
INSERT INTO "field" VALUES(15,NULL,1,NULL,'engine.intake_valves.lift','8.2','mm',1,8.19999999999999895639e-03,1800000000);
INSERT INTO "field" VALUES(16,NULL,1,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(17,NULL,1,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,2.55000000000000018318e-02,1800000000);
INSERT INTO "field" VALUES(18,NULL,1,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.008,1800000000);
INSERT INTO "field" VALUES(19,NULL,1,NULL,'engine.limits.standard','180','psi',1,1.24105631277030520136e+06,1800000000);
INSERT INTO "field" VALUES(20,NULL,1,NULL,'engine.limits.minimum','140','psi',1,9.6526602104357059576e+05,1800000000);
INSERT INTO "field" VALUES(21,NULL,1,NULL,'engine.limits.spread','25','psi',1,1.72368932329209055749e+05,1800000000);
INSERT INTO "field" VALUES(22,NULL,NULL,1,'gauge.span','300','psi',1,2.06842718795050843627e+06,1800000000);
INSERT INTO "field" VALUES(23,NULL,NULL,1,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(24,NULL,NULL,1,'gauge.resolution','2','psi',1,1.37895145863367233685e+04,1800000000);
INSERT INTO "field" VALUES(25,NULL,NULL,1,'gauge.hose_volume','11','ml',0,1.1e-05,1800000000);
INSERT INTO "field" VALUES(26,NULL,NULL,1,'gauge.dead_volume','2','ml',0,2.0e-06,1800000000);
INSERT INTO "field" VALUES(27,1,NULL,NULL,'title','INVENTED DEMONSTRATION - hill climb four, end of the first season',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(28,1,NULL,NULL,'note','Invented. Battery on the charger throughout, all plugs out, throttle propped open, each cylinder read twice.',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(29,1,NULL,NULL,'units.pressure','psi',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(30,1,NULL,NULL,'units.length','mm',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(31,1,NULL,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(32,1,NULL,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(33,1,NULL,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(34,1,NULL,NULL,'engine.bore','78.4','mm',1,7.84000000000000113464e-02,1800000000);
INSERT INTO "field" VALUES(35,1,NULL,NULL,'engine.stroke','83.0','mm',1,0.083,1800000000);
INSERT INTO "field" VALUES(36,1,NULL,NULL,'engine.rod_length','136','mm',1,0.136,1800000000);
INSERT INTO "field" VALUES(37,1,NULL,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8,1800000000);
INSERT INTO "field" VALUES(38,1,NULL,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(39,1,NULL,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(40,1,NULL,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(41,1,NULL,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(42,1,NULL,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.0001,1800000000);
INSERT INTO "field" VALUES(43,1,NULL,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(44,1,NULL,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.03,1800000000);
INSERT INTO "field" VALUES(45,1,NULL,NULL,'engine.intake_valves.lift','8.2','mm',1,8.19999999999999895639e-03,1800000000);
INSERT INTO "field" VALUES(46,1,NULL,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(47,1,NULL,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,2.55000000000000018318e-02,1800000000);
INSERT INTO "field" VALUES(48,1,NULL,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.008,1800000000);
INSERT INTO "field" VALUES(49,1,NULL,NULL,'engine.limits.standard','180','psi',1,1.24105631277030520136e+06,1800000000);
INSERT INTO "field" VALUES(50,1,NULL,NULL,'engine.limits.minimum','140','psi',1,9.6526602104357059576e+05,1800000000);
INSERT INTO "field" VALUES(51,1,NULL,NULL,'engine.limits.spread','25','psi',1,1.72368932329209055749e+05,1800000000);
INSERT INTO "field" VALUES(52,1,NULL,NULL,'gauge.span','300','psi',1,2.06842718795050843627e+06,1800000000);
INSERT INTO "field" VALUES(53,1,NULL,NULL,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(54,1,NULL,NULL,'gauge.resolution','2','psi',1,1.37895145863367233685e+04,1800000000);
INSERT INTO "field" VALUES(55,1,NULL,NULL,'gauge.hose_volume','11','ml',0,1.1e-05,1800000000);
INSERT INTO "field" VALUES(56,1,NULL,NULL,'gauge.dead_volume','2','ml',0,2.0e-06,1800000000);
INSERT INTO "field" VALUES(57,1,NULL,NULL,'conditions.date','2025-11-15',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(58,1,NULL,NULL,'conditions.altitude','310','m',0,310.0,1800000000);
INSERT INTO "field" VALUES(59,1,NULL,NULL,'conditions.barometer','978','hPa',0,97800.0,1800000000);
INSERT INTO "field" VALUES(60,1,NULL,NULL,'conditions.air_temperature','8','C',0,281.15,1800000000);
INSERT INTO "field" VALUES(61,1,NULL,NULL,'conditions.engine_temperature','65','C',0,338.15,1800000000);
INSERT INTO "field" VALUES(62,1,NULL,NULL,'conditions.throttle','open',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(63,1,NULL,NULL,'conditions.cranking_speed','240','rpm',0,2.51327412287183484798e+01,1800000000);
INSERT INTO "field" VALUES(64,1,NULL,NULL,'conditions.strokes','6',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(65,1,NULL,NULL,'conditions.odometer','161100','km',0,161100000.0,1800000000);
INSERT INTO "field" VALUES(66,2,NULL,NULL,'engine.cylinders','4',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(67,2,NULL,NULL,'engine.layout','inline',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(68,2,NULL,NULL,'engine.firing_order','1 3 4 2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(69,2,NULL,NULL,'engine.bore','78.4','mm',1,7.84000000000000113464e-02,1800000000);
INSERT INTO "field" VALUES(70,2,NULL,NULL,'engine.stroke','83.0','mm',1,0.083,1800000000);
INSERT INTO "field" VALUES(71,2,NULL,NULL,'engine.rod_length','136','mm',1,0.136,1800000000);
INSERT INTO "field" VALUES(72,2,NULL,NULL,'engine.compression_ratio','9.8',NULL,NULL,9.8,1800000000);
INSERT INTO "field" VALUES(73,2,NULL,NULL,'engine.valve_timing.intake_opens_btdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(74,2,NULL,NULL,'engine.valve_timing.intake_closes_abdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(75,2,NULL,NULL,'engine.valve_timing.exhaust_opens_bbdc','54','deg',1,9.42477796076937934799e-01,1800000000);
INSERT INTO "field" VALUES(76,2,NULL,NULL,'engine.valve_timing.exhaust_closes_atdc','12','deg',1,2.0943951023931955957e-01,1800000000);
INSERT INTO "field" VALUES(77,2,NULL,NULL,'engine.valve_timing.at_lift','0.1','mm',0,0.0001,1800000000);
INSERT INTO "field" VALUES(78,2,NULL,NULL,'engine.intake_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(79,2,NULL,NULL,'engine.intake_valves.diameter','30.0','mm',1,0.03,1800000000);
INSERT INTO "field" VALUES(80,2,NULL,NULL,'engine.intake_valves.lift','8.2','mm',1,8.19999999999999895639e-03,1800000000);
INSERT INTO "field" VALUES(81,2,NULL,NULL,'engine.exhaust_valves.count','2',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(82,2,NULL,NULL,'engine.exhaust_valves.diameter','25.5','mm',1,2.55000000000000018318e-02,1800000000);
INSERT INTO "field" VALUES(83,2,NULL,NULL,'engine.exhaust_valves.lift','8.0','mm',1,0.008,1800000000);
INSERT INTO "field" VALUES(84,2,NULL,NULL,'engine.limits.standard','180','psi',1,1.24105631277030520136e+06,1800000000);
INSERT INTO "field" VALUES(85,2,NULL,NULL,'engine.limits.minimum','140','psi',1,9.6526602104357059576e+05,1800000000);
INSERT INTO "field" VALUES(86,2,NULL,NULL,'engine.limits.spread','25','psi',1,1.72368932329209055749e+05,1800000000);
INSERT INTO "field" VALUES(87,2,NULL,NULL,'gauge.span','300','psi',1,2.06842718795050843627e+06,1800000000);
INSERT INTO "field" VALUES(88,2,NULL,NULL,'gauge.accuracy','grade B',NULL,NULL,NULL,1800000000);
INSERT INTO "field" VALUES(89,2,NULL,NULL,'gauge.resolution','2','psi',1,1.37895145863367233685e+04,1800000000);
INSERT INTO "field" VALUES(90,2,NULL,NULL,'gauge.hose_volume','11','ml',0,1.1e-05,1800000000);
INSERT INTO "field" VALUES(91,2,NULL,NULL,'gauge.dead_volume','2','ml',0,2.0e-06,1800000000);
INSERT INTO "field" VALUES(92,2,NULL,NULL,'conditions.date','2027-01-16',NULL,NULL,NULL,1800000000);
CREATE TABLE gauge (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL CHECK (name <> ''),
  note TEXT,
  client TEXT UNIQUE,
  changed_s INTEGER NOT NULL,
  deleted_s INTEGER
) STRICT;
INSERT INTO "gauge" VALUES(1,'300 psi dial',NULL,NULL,1800000000,NULL);
CREATE TABLE history (
  id INTEGER PRIMARY KEY,
  table_name TEXT NOT NULL,
  row_id INTEGER NOT NULL,
  was TEXT NOT NULL,
  from_s INTEGER NOT NULL,
  until_s INTEGER NOT NULL
) STRICT;
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
INSERT INTO "ledger" VALUES(1,2,'coil','cylinder 3','bench','10 Nm',NULL,1800000000,NULL,NULL,1800000000,NULL);
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
INSERT INTO "part" VALUES(1,1,NULL,'clutch',NULL,'2025-03-01',NULL,36000.0,0.0,0,NULL,1800000000,NULL);
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
INSERT INTO "photo" VALUES(1,2,1,'image/jpeg',1800000000,NULL,1800000000,NULL,X'FFD8FF00');
CREATE TABLE setting (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  text TEXT,
  changed_s INTEGER NOT NULL
) STRICT;
INSERT INTO "setting" VALUES(1,'hour_value','15',1800000000);
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
INSERT INTO "sheet" VALUES(1,1,NULL,1800000000,1800000000,NULL,1,'file-1',1800000000,NULL);
INSERT INTO "sheet" VALUES(2,1,1,1800000000,NULL,NULL,7,NULL,1800000000,NULL);
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

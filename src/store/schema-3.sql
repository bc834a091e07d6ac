-- Version 3: what tells when a part is due (knowledge/part_lives.yaml), and how often the car went out on a day.

ALTER TABLE event ADD COLUMN sessions INTEGER CHECK (sessions > 0);
DROP TRIGGER event_history;
CREATE TRIGGER event_history AFTER UPDATE OF engine_id, day, name, note, running_s, distance_m, starts, sessions, deleted_s ON event BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('event', old.id, json_object('engine_id', old.engine_id, 'day', old.day, 'name', old.name, 'note', old.note, 'running_s', old.running_s, 'distance_m', old.distance_m, 'starts', old.starts, 'sessions', old.sessions, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

ALTER TABLE part ADD COLUMN life TEXT CHECK (life <> '');          -- id in part_lives.yaml
ALTER TABLE part ADD COLUMN made_day TEXT;                         -- of manufacture
ALTER TABLE part ADD COLUMN until_day TEXT;                        -- printed on it
ALTER TABLE part ADD COLUMN part_left_1 REAL CHECK (part_left_1 > 0);  -- of the thickness when new
ALTER TABLE part ADD COLUMN depth_m REAL CHECK (depth_m > 0);      -- of the tread
ALTER TABLE part ADD COLUMN under_printed INTEGER CHECK (under_printed IN (0, 1));
ALTER TABLE part ADD COLUMN carried_sessions INTEGER CHECK (carried_sessions >= 0);
DROP TRIGGER part_history;
CREATE TRIGGER part_history AFTER UPDATE OF name, note, fitted_day, removed_day, carried_running_s, carried_distance_m, carried_starts, carried_sessions, life, made_day, until_day, part_left_1, depth_m, under_printed, deleted_s ON part BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('part', old.id, json_object('name', old.name, 'note', old.note, 'fitted_day', old.fitted_day, 'removed_day', old.removed_day, 'carried_running_s', old.carried_running_s, 'carried_distance_m', old.carried_distance_m, 'carried_starts', old.carried_starts, 'carried_sessions', old.carried_sessions, 'life', old.life, 'made_day', old.made_day, 'until_day', old.until_day, 'part_left_1', old.part_left_1, 'depth_m', old.depth_m, 'under_printed', old.under_printed, 'deleted_s', old.deleted_s), old.changed_s, new.changed_s);
END;

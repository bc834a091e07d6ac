-- Version 6: a sheet that was begun by mistake is withdrawn (deleted_s), with the reason, and may be taken back.

ALTER TABLE sheet ADD COLUMN delete_reason TEXT CHECK (delete_reason IS NULL OR deleted_s IS NOT NULL);
DROP TRIGGER sheet_history;
CREATE TRIGGER sheet_history AFTER UPDATE OF engine_id, gauge_id, closed_s, close_reason, deleted_s, delete_reason ON sheet BEGIN
  INSERT INTO history (table_name, row_id, was, from_s, until_s)
  VALUES ('sheet', old.id, json_object('engine_id', old.engine_id, 'gauge_id', old.gauge_id, 'closed_s', old.closed_s, 'close_reason', old.close_reason, 'deleted_s', old.deleted_s, 'delete_reason', old.delete_reason), old.changed_s, new.changed_s);
END;

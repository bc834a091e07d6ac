-- Version 2: what was worked out from sheets, so that a season of sheets need not be judged again at every look.

-- Derived and thrown away at will: rows are replaced, and nothing else refers to them.
CREATE TABLE derived (
  sheet_id INTEGER PRIMARY KEY REFERENCES sheet (id),
  revision INTEGER NOT NULL,  -- of the sheet when it was judged
  made_by TEXT NOT NULL,      -- version of the calculation, knowledge and rule that it came from
  numbers BLOB NOT NULL       -- doubles, IEEE 754 binary64, little end first: ch_history_write()
) STRICT;

-- A submitted shift with open items is refused where it is written: the commit travels with the last statements, so
-- nobody can look at the items and refuse in between. SQLSTATE DB004; the items are in the detail, for whoever words them.
CREATE FUNCTION hold_complete(p_must boolean, p_items json) RETURNS json LANGUAGE plpgsql AS $$
BEGIN
  IF p_must AND json_array_length(p_items) > 0 THEN
    RAISE EXCEPTION USING ERRCODE = 'DB004', CONSTRAINT = 'shift_complete', TABLE = 'shift',
      MESSAGE = 'a submitted shift has no open items', DETAIL = p_items::text;
  END IF;
  RETURN p_items;
END $$;

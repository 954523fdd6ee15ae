-- compatible: older builds keep working
-- Writing a certified valuation again was refused for the wrong reason when the next one was begun: by the order of the numbers.
DO $$
DECLARE
  definition text := pg_get_functiondef('valuation_life'::regproc);
  changed text := replace(definition, $old$IF NEW.number <> coalesce(last.number, 0) + 1 THEN$old$,
    $new$IF EXISTS (SELECT FROM valuation WHERE drive_id = NEW.drive_id AND number = NEW.number AND state = 'certified') THEN
      RAISE EXCEPTION USING ERRCODE = 'DB002', CONSTRAINT = 'valuation_certified_stands', TABLE = 'valuation',
        MESSAGE = format('valuation %s is certified: it cannot be changed, and corrections go into the next one', NEW.number);
    END IF;
    IF NEW.number <> coalesce(last.number, 0) + 1 THEN$new$);
BEGIN
  IF changed = definition THEN RAISE EXCEPTION 'valuation_life is not as expected'; END IF;
  EXECUTE changed;
END $$;

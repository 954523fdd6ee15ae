-- Conflicts are raised under the kind that fits them: DB005 is wrong_state, DB006 is conflict. An older build would answer them as a failure of its own,
-- so that it may not run beside this. Each function stays as it is but for its codes, and two messages of valuation_life.
DO $$
DECLARE
  rule regprocedure;
  definition text;
  kind record;
BEGIN
  FOR rule IN
    SELECT p.oid FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace JOIN pg_language l ON l.oid = p.prolang
    WHERE n.nspname IN ('public', 'history') AND l.lanname = 'plpgsql'
  LOOP
    definition := pg_get_functiondef(rule);
    FOR kind IN
      SELECT * FROM (VALUES
        ('bill_one_currency', 'DB006'), ('entitlement_item_known', 'DB006'), ('entitlement_of_its_drive', 'DB006'), ('programme_rises', 'DB006'),
        ('rule_keeps_unit', 'DB006'), ('sample_month_retired', 'DB002'), ('sample_years', 'DB006'), ('valuation_cut_off_rises', 'DB006'),
        ('valuation_next', 'DB005'), ('valuation_open_shifts', 'DB004')) k(name, state)
    LOOP
      definition := replace(definition, format('''DB001'', CONSTRAINT = %L', kind.name), format('%L, CONSTRAINT = %L', kind.state, kind.name));
    END LOOP;
    definition := replace(definition, $old$format('the next valuation of the drive is number %s', coalesce(last.number, 0) + 1)$old$,
      $new$coalesce((SELECT format('valuation %s is %s: it must be certified before valuation %s is created', v.number, v.state, NEW.number)
          FROM valuation v WHERE v.drive_id = NEW.drive_id AND v.state <> 'certified' ORDER BY v.number LIMIT 1),
          format('%s: the next one is number %s', CASE WHEN last.number IS NULL THEN 'no valuation of the drive is certified yet' ELSE format('valuation %s is the last one certified', last.number) END, coalesce(last.number, 0) + 1))$new$);
    definition := replace(definition, $old$format('%s shifts until %s are neither countersigned nor paid as deemed accepted, the first of %s', open.n, NEW.cut_off, open.first)$old$,
      $new$CASE open.n WHEN 1 THEN format('1 shift until %s is neither countersigned nor paid as deemed accepted: that of %s', NEW.cut_off, open.first)
          ELSE format('%s shifts until %s are neither countersigned nor paid as deemed accepted, the first of %s', open.n, NEW.cut_off, open.first) END$new$);
    IF definition <> pg_get_functiondef(rule) THEN EXECUTE definition; END IF;
  END LOOP;
END $$;

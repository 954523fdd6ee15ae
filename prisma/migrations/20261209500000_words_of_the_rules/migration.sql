-- compatible: older builds keep working
-- The rules raise the same errors in plainer words. Each function stays as it is but for its messages.
DO $$
DECLARE
  words CONSTANT text[] := ARRAY[
    'as the ruling log', 'as the governing log',
    'take that back before you', 'withdraw that before you',
    'but the face stood at', 'but the face was at',
    'make another version', 'create another version',
    'it stands, and a correction goes into the next one', 'it cannot be changed, and corrections go into the next one',
    'what is certified stands, and a correction goes into the next valuation',
      'what is certified cannot be changed, and corrections go into the next valuation',
    'stands as it was computed: make another', 'cannot be changed: create another',
    'at %s: it stands', 'at %s: it cannot be changed',
    'is certified by: how its items are measured stands', 'is used by certified valuations: its measurement rules cannot be changed',
    'is reopened with a reason only', 'is reopened only with a reason',
    'take the rule away before its unit is', 'remove the rule before its unit becomes',
    'another person countersigns it', 'another person must countersign it',
    'another person disputes it', 'another person must dispute it',
    'another person reopens it', 'another person must reopen it',
    'another person certifies it', 'another person must certify it'];
  rule regprocedure;
  definition text;
BEGIN
  FOR rule IN
    SELECT p.oid FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace JOIN pg_language l ON l.oid = p.prolang
    WHERE n.nspname IN ('public', 'history') AND l.lanname = 'plpgsql'
  LOOP
    definition := pg_get_functiondef(rule);
    FOR i IN 1 .. array_length(words, 1) BY 2 LOOP
      definition := replace(definition, words[i], words[i + 1]);
    END LOOP;
    IF definition <> pg_get_functiondef(rule) THEN EXECUTE definition; END IF;
  END LOOP;
END $$;

-- compatible: older builds keep working
-- More messages of the rules in plainer words, as words_of_the_rules did. Each function stays as it is except for its messages.
DO $$
DECLARE
  words CONSTANT text[] := ARRAY[
    'wait for its end, or cancel it', 'wait until it has ended, or cancel it',
    'would rule one length on one day', 'would govern the same length on the same day',
    'does not tile its drive at', 'does not cover its drive without gap or overlap at',
    'tiles the drive', 'covers the drive',
    'tiles it until', 'covers it to',
    'a class decision is proposed before it is agreed', 'a class decision must be proposed before it is agreed',
    'a shift is submitted before it is countersigned', 'a shift must be submitted before it is countersigned',
    '%s is submitted before it is countersigned', '%s must be submitted before it is countersigned',
    'does not go on from what is certified of it', 'does not continue from what is certified of it',
    'it is ended by one from a later date', 'it can be ended only by one from a later date',
    'would measure anew what valuation', 'would measure again what valuation',
    'stands as it was uploaded: remove it', 'cannot be changed: remove it',
    'are retired: no more are taken', 'are retired: no more are accepted',
    'of which it has an attachment', 'where it has an attachment',
    'where its record stands', 'to which its record reaches',
    'and keeps it: remove it, or give the new one another code', 'and cannot change its kind: remove it, or use another code',
    'stays as it was raised and cleared', 'can only be acknowledged',
    'is withdrawn, once; it is neither changed nor removed', 'can be withdrawn once; it cannot be changed or removed',
    'stays: it can be settled', 'cannot be removed: it can be settled',
    'stays as it is: only an open one is settled', 'cannot be changed: only an open dispute can be settled',
    'the rows that it brought or took away', 'the rows that it added or removed',
    'it is not the one that brought or took away', 'it is not the entry that added or removed',
    'the entry before it is another', 'it follows another entry',
    'the history was written anew', 'the history was rewritten',
    'the record is not what the history says', 'the record does not match the history',
    'a valuation keeps its drive and number', 'a valuation cannot change its drive or number',
    'keeps its drive and its code', 'cannot change its drive or code',
    'is not what its sources say', 'does not match its sources'];
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

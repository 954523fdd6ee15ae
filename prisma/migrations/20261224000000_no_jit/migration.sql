-- compatible: older builds keep working
-- The views have hundreds of expressions. Where PostgreSQL has its JIT compiler, as in its official image, it compiled them for
-- seconds, and for minutes on a busy machine, before reading what takes milliseconds. Whoever reads the database now reads without it.
DO $$
BEGIN
  EXECUTE format('ALTER DATABASE %I SET jit = off', current_database());
EXCEPTION WHEN insufficient_privilege THEN
  RAISE NOTICE 'The owner of the tables does not own the database: ask its owner to run ALTER DATABASE … SET jit = off (docs/operations.md).';
END $$;

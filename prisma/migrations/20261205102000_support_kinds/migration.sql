-- Kinds and units of support as in the trade. A new value of an enum can be named only after the transaction that adds it: the
-- rules on them stand in the next migration.
ALTER TYPE "support_kind" ADD VALUE 'lagging';
ALTER TYPE "support_kind" ADD VALUE 'lattice_girder';
ALTER TYPE "support_kind" ADD VALUE 'cavity_fill';
ALTER TYPE "support_kind" ADD VALUE 'drain';
ALTER TYPE "support_kind" ADD VALUE 'cast_concrete';
ALTER TYPE "support_unit" ADD VALUE 'm';
ALTER TYPE "support_unit" ADD VALUE 'kg';
ALTER TYPE "support_unit" ADD VALUE 't';

-- Two more kinds of support. A new value of an enum can be named only after the transaction that adds it: the rules on
-- them stand in the next migration.
ALTER TYPE "support_kind" ADD VALUE 'spile';
ALTER TYPE "support_kind" ADD VALUE 'invert_segment';

-- The quarters of period_advance: one row per quarter.
create or replace view quarter_advance as select * from period_advance where kind = 'quarter';
comment on view quarter_advance is
  'One row per quarter of production days from the drive''s first to its last: the sum of its days, 0 where none was bored; columns as in period_advance.';

-- The months of period_advance: one row per month.
create or replace view month_advance as select * from period_advance where kind = 'month';
comment on view month_advance is
  'One row per month of production days from the drive''s first to its last: the sum of its days, 0 where none was bored; columns as in period_advance.';

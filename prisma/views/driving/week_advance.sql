-- The weeks of period_advance: one row per week.
create or replace view week_advance as select * from period_advance where kind = 'week';

comment on view week_advance is
  'One row an ISO week of production days from the drive''s first to its last: the sum of its days, 0 where none was bored; columns as in period_advance.';

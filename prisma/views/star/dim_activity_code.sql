-- Dimension: activity codes.
create or replace view dim_activity_code as
select c.id as activity_code_id, c.project_id, p.code as project_code, c.code, c.description, c.counts_as::text as time_class,
  c.counts_as not in ('boring', 'regripping', 'outside_working_time') as non_boring,
    coalesce(c.planned, c.counts_as not in ('breakdown', 'ground', 'waiting')) as planned,
  h.change_number, h.changed_at
from activity_code c
join project p on p.id = c.project_id
left join lateral (select * from record_changed where table_name = 'activity_code' and record_id = c.id offset 0) h on true;

comment on view dim_activity_code is 'Dimension: one row per code of activities.';
comment on column dim_activity_code.time_class is 'Time class of the code.';
comment on column dim_activity_code.non_boring is 'True unless the time counts as boring, regripping or outside working time.';
comment on column dim_activity_code.planned is 'Whether the programme plans its time: as the code says, else by its time class.';

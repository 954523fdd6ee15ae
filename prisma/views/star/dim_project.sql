-- Dimension: projects.
create or replace view dim_project as
select p.id as project_id, p.code as project_code, p.name as project_name, p.time_zone, p.day_start, p.currency::text as currency,
  p.stroke_day::text as stroke_day,
  h.change_number, h.changed_at
from project p
left join lateral (select * from record_changed where table_name = 'project' and record_id = p.id offset 0) h on true;

comment on view dim_project is 'Dimension: one row per project.';
comment on column dim_project.project_name is 'Name of the project.';
comment on column dim_project.time_zone is 'Time zone of the production days, a name of the IANA database.';
comment on column dim_project.day_start is 'Local time at which the production day starts.';
comment on column dim_project.currency is 'Currency of the project, ISO 4217.';
comment on column dim_project.stroke_day is 'split_by_time: a boring counts in each production day by time; whole_at_end: in the day on which its stroke ends.';

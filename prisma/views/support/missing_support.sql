-- The whole drive by intervals on round chainages, as in support_in_intervals.
create or replace function missing_support(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, item_code text, kind text, description text, unit text,
  zone text, part text, length_m numeric, required numeric, installed numeric, difference numeric, missing_raw numeric, surplus numeric,
  tolerated numeric, missing numeric, state text, drive_id int, from_m numeric, to_m numeric, rests_on text, missing_local numeric)
language sql stable begin atomic
  select m.*
  from drive d
  join project p on p.id = d.project_id
  cross join lateral missing_support_between(p.code, d.code, d.start_chainage_m, d.end_chainage_m, missing_support.interval_m) m
  where p.code = missing_support.project and d.code = missing_support.drive;
end;

comment on function missing_support(text, text, numeric) is
  'missing_support_between over a whole drive, by intervals of the given length [m]; installed sums to support_total. Decision support; see there.';

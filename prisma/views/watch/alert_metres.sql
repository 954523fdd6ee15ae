-- One row per rule of kind metres_open and run of metres without a boring that has been open for longer: since the boring beyond it ended, or its
-- shift; a run without times counts as older than any threshold.
create or replace function alert_metres(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, chainage_text(o.from_chainage_m) as subject, age.h as value, r.threshold as limit_value, 'h'::text as unit,
    format('%s m from %s to %s are without a boring%s; the limit is %s h.', o.missing_m, chainage_text(o.from_chainage_m), chainage_text(o.to_chainage_m),
      coalesce(', ' || age.h || ' h after the boring beyond them', ''), trim_scale(r.threshold)) as text
  from alert_rule_of_drive r
  join open_item o on o.drive_id = r.drive_id and o.kind = 'metres_missing'
  cross join lateral (
    select coalesce(b.ended_at, s.ends_at) as at from boring b left join shift s on s.id = b.shift_id
    where b.drive_id = r.drive_id and b.from_m >= o.from_m + o.missing_m order by b.from_m limit 1
  ) beyond
  cross join lateral (select round(hours_between(beyond.at, (select moment_asked())), 3) as h) age
  where r.drive_id = alert_metres.drive_id and r.kind = 'metres_open' and coalesce((select moment_asked())
    - beyond.at >= make_interval(secs => (r.threshold * 3600)::float8), true);
end;

comment on function alert_metres(int) is 'In a drive: alerts of kind metres_open that hold at the moment asked for.';

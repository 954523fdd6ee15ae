-- One row per rule of kind minutes_open and shift with minutes without an activity that ended longer ago than the threshold. Only a draft can have any:
-- they must be settled before a shift is submitted.
create or replace function alert_minutes(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, s.shift_date || ' ' || n.name as subject, age.h as value, r.threshold as limit_value, 'h'::text as unit,
    format('%s minutes of shift %s of %s are without an activity; it ended %s h ago, the limit is %s h.', trim_scale(open.minutes), n.name, s.shift_date, age.h,
      trim_scale(r.threshold)) as text
  from alert_rule_of_drive r
  join shift s on s.drive_id = r.drive_id and s.state::text = 'draft'
  join calendar_shift n on n.id = s.calendar_shift_id
  cross join lateral (
    select sum(o.missing_minutes) as minutes from open_item o where o.shift_id = s.id and o.kind = 'minutes_missing' having count(*) > 0
  ) open
  cross join lateral (select round(hours_between(s.ends_at, (select moment_asked())), 3) as h) age
  where r.drive_id = alert_minutes.drive_id and r.kind = 'minutes_open'
    and (select moment_asked()) - s.ends_at >= make_interval(secs => (r.threshold * 3600)::float8);
end;

comment on function alert_minutes(int) is 'In a drive: alerts of kind minutes_open that hold at the moment asked for.';

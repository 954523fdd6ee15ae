-- One row per rule of kind shift_late and shift that is late.
create or replace function alert_shift(drive_id int) returns table (rule text, subject text, value numeric, limit_value numeric, unit text, text text)
language sql stable begin atomic
  select r.rule, l.shift_date || ' ' || l.shift_name as subject, age.h as value, r.threshold as limit_value, 'h'::text as unit,
    format('Shift %s of %s has not been posted; it ended %s h ago, the limit is %s h.', l.shift_name, l.shift_date, age.h, trim_scale(r.threshold)) as text
  from alert_rule_of_drive r
  cross join lateral late_shift_of(r.drive_id) l
  cross join lateral (select round(hours_between(l.ended_at, (select moment_asked())), 3) as h) age
  where r.drive_id = alert_shift.drive_id and r.kind = 'shift_late' and (select moment_asked())
    - l.ended_at >= make_interval(secs => (r.threshold * 3600)::float8);
end;

comment on function alert_shift(int) is 'In a drive: alerts of kind shift_late that hold at the moment asked for.';

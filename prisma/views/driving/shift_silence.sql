-- One row per submitted shift to which an acceptance rule applies: the one in force on the local day of its submission. The day of submission does
-- not count: the shift is deemed accepted from the beginning of the local day after the last of the days (deemed_at), unless it was disputed
-- before. A rule that both sides have not agreed on does not apply.
create or replace view shift_silence as
select s.id as shift_id, s.drive_id, s.shift_date, s.calendar_shift_id, due.days, due.clause, due.pays, due.respond_by, due.deemed_at,
  due.deemed_at <= (select moment_asked()) as is_over,
  s.state::text = 'submitted' and due.deemed_at <= (select moment_asked()) and coalesce(s.disputed_at >= due.deemed_at, true) as is_deemed
from shift s
join project p on p.id = s.project_id
cross join lateral (
  select r.days, r.clause, r.pays, at.day + r.days as respond_by, timezone(p.time_zone, (at.day + r.days + 1)::timestamp) as deemed_at
  from (select timezone(p.time_zone, s.submitted_at)::date as day) at
  cross join lateral ( -- in force on that day: the last one begun
    select days, clause, coalesce(pays, false) as pays from acceptance_rule where project_id = s.project_id and in_force is not false and valid_from <= at.day
      order by valid_from desc limit 1
  ) r
  where r.days is not null
) due;

comment on view shift_silence is
  'Shifts that a rule of acceptance governs: until when the other side can answer, and whether they are deemed accepted by silence. No signature.';
comment on column shift_silence.pays is 'Whether the rule says that what is deemed accepted under it pays.';

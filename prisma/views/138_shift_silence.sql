-- One row a submitted shift that a rule of acceptance governs: the one in force on the local day of its submission. The day of submission does not
-- count: it is deemed accepted from the beginning of the local day after the last of the days (deemed_at), unless it was disputed before.
-- A rule that two sides have not both agreed to is none.
create or replace view shift_silence as
select s.id as shift_id, s.drive_id, s.shift_date, s.calendar_shift_id, due.days, due.clause, due.pays, due.respond_by, due.deemed_at,
  due.deemed_at <= (select moment_asked()) as is_over,
  s.state::text = 'submitted' and due.deemed_at <= (select moment_asked()) and coalesce(s.disputed_at >= due.deemed_at, true) as is_deemed
from shift s
join project p on p.id = s.project_id
cross join lateral (
  select r.days, r.clause, r.pays, at.day + r.days as respond_by, timezone(p.time_zone, (at.day + r.days + 1)::timestamp) as deemed_at
  from (select timezone(p.time_zone, s.submitted_at)::date as day) at
  cross join lateral ( -- in force on that day: the last that had begun
    select days, clause, coalesce(pays, false) as pays from acceptance_rule where project_id = s.project_id and in_force is not false and valid_from <= at.day order by valid_from desc limit 1
  ) r
  where r.days is not null
) due;

comment on view shift_silence is 'Shifts that a rule of acceptance governs: until when the other side can answer, and whether they are deemed accepted by silence. No signature.';
comment on column shift_silence.pays is 'Whether the rule says that what is deemed accepted under it pays.';

-- The shifts of a drive that are deemed accepted under a rule by which that pays: they count in valuations, and each line shows them.
-- Where no rule says so no shift is read.
create or replace function paid_by_silence_of(drive_id int)
returns table (shift_ids int[], shift_keys text[])
language sql stable strict rows 1 begin atomic
  select coalesce(array_agg(s.shift_id), '{}'), coalesce(array_agg(s.shift_date || '/' || n.name), '{}')
  from shift_silence s join calendar_shift n on n.id = s.calendar_shift_id
  where s.drive_id = paid_by_silence_of.drive_id and s.is_deemed and s.pays
    and (select exists (select from acceptance_rule r where r.in_force is not false and r.pays));
end;

comment on function paid_by_silence_of(int) is 'Shifts of a drive that are not countersigned and count in valuations, as a rule of both sides says that deemed acceptance pays: ids, and keys as date/name.';

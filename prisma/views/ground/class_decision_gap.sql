-- One row per driven length without an agreed class decision. Together with the agreed ones they cover the drive from its start to the face.
create or replace view class_decision_gap as
select
  f.project_code,
  f.drive_code,
  gap.kind,
  chainage_of_driven(f.start_chainage_m, f.direction, gap.from_m) as from_chainage_m,
  chainage_of_driven(f.start_chainage_m, f.direction, gap.to_m) as to_chainage_m,
  gap.from_m,
  gap.to_m,
  gap.to_m - gap.from_m as length_m,
  gap.decision_number,
  gap.ground_class_code,
  f.drive_id
from drive_progress f
cross join lateral (
  with standing as materialized (
    select number, state, from_m, to_m, ground_class_id from class_decision
    where class_decision.drive_id = f.drive_id and withdrawn_by is null and from_m < f.face_m
  )
  select s.state::text as kind, s.from_m, least(s.to_m, f.face_m) as to_m, s.number as decision_number, c.code as ground_class_code
  from standing s join ground_class c on c.id = s.ground_class_id where s.state <> 'agreed'
  union all
  select 'undecided', s.to_m, lead(s.from_m, 1, f.face_m) over (order by s.from_m), null, null from standing s
  union all
  select 'undecided', 0.000, coalesce(min(s.from_m), f.face_m), null, null from standing s
) gap
where gap.to_m > gap.from_m;

comment on view class_decision_gap is
  'Driven metres without an agreed class decision, one row per gap. kind: undecided (no decision), proposed or disputed (decision_number says which). [m]';
comment on column class_decision_gap.ground_class_code is 'Class of the decision that is not agreed; null where there is none.';

-- The probe requirements in force on the given production day, one row each: those of the latest revision that starts by that day, and of no earlier one.
create or replace view probe_requirement_in_force as
select r.probe_requirement_id, r.drive_id, r.revision, r.valid_from, r.name, r.from_m, r.to_m, r.hole_count, r.sector_from_deg, r.sector_to_deg, r.overlap_m,
  r.least_length_m
from (
  select q.id as probe_requirement_id, q.drive_id, q.revision, q.valid_from, q.name, q.from_m, q.to_m, q.hole_count, q.sector_from_deg, q.sector_to_deg,
    q.overlap_m, q.least_length_m, rank() over (partition by q.drive_id order by q.valid_from desc nulls last) as age
  from probe_requirement q
  join project p on p.id = q.project_id
  where q.valid_from is null or q.valid_from <= production_day((select moment_asked()), p.time_zone, p.day_start)
) r
where r.age = 1;

comment on view probe_requirement_in_force is 'What probing is asked for ahead of the face, by the revision in force on the production day asked for.';
comment on column probe_requirement_in_force.from_m is 'Driven metres from which it holds; null: along all lengths that no other requirement names. [m]';
comment on column probe_requirement_in_force.to_m is 'Driven metres before which it holds. [m]';
comment on column probe_requirement_in_force.hole_count is 'Holes that must reach over each place.';
comment on column probe_requirement_in_force.sector_from_deg is 'Clock positions at which the sectors begin, each of which needs a hole. [°]';
comment on column probe_requirement_in_force.sector_to_deg is 'Clock positions at which they end, clockwise. [°]';
comment on column probe_requirement_in_force.overlap_m is 'Cover that must be left ahead of the face. [m]';
comment on column probe_requirement_in_force.least_length_m is 'Length below which a hole does not count; null: none. [m]';
comment on column probe_requirement_in_force.probe_requirement_id is 'The requirement.';
comment on column probe_requirement_in_force.revision is 'Name of the revision; null: not named.';
comment on column probe_requirement_in_force.valid_from is 'First production day on which it is in force; null: from the beginning.';
comment on column probe_requirement_in_force.name is 'Name of the requirement.';

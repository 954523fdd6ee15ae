-- One row per stretch of a drive governed by one measurement, or behind the face and covered by none: inflow_stretch_of for every drive.
create or replace view inflow_stretch as
select
  p.code as project_code,
  d.code as drive_code,
  chainage_of_driven(d.start_chainage_m, d.direction, s.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, s.to_m) as to_chainage_m,
  s.to_m - s.from_m as length_m,
  s.measurement_id is null as is_gap,
  s.measurement,
  s.method,
  s.measured_at::timestamptz(3) as measured_at,
  s.inflow_l_per_min,
  s.cumulated_l_per_min,
  s.superseded_count,
  s.overlapped,
  s.from_m,
  s.to_m,
  s.measured_from_m::numeric(9,3) as measured_from_m,
  s.measured_to_m::numeric(9,3) as measured_to_m,
  s.flow_l_per_min::numeric(12,3) as flow_l_per_min,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral inflow_stretch_of(d.id) s;

comment on view inflow_stretch is
  'A drive by stretches that one measurement of inflow governs, the latest by the moment asked for, with the inflow cumulated from the start of the drive; '
  'stretches behind the face that none covers are gaps. Decision support.';
comment on column inflow_stretch.is_gap is 'No measurement covers it: its inflow is not known, and counts as nothing in what is cumulated.';
comment on column inflow_stretch.inflow_l_per_min is 'Share of the measurement by length; null: a gap. [l/min]';
comment on column inflow_stretch.cumulated_l_per_min is 'From the start of the drive to the end of the stretch. [l/min]';
comment on column inflow_stretch.superseded_count is 'How many earlier measurements touch it.';
comment on column inflow_stretch.overlapped is 'Of those, the names of the ones with other ends: they overlap the governing one.';
comment on column inflow_stretch.measured_from_m is 'Where the governing measurement begins, in driven metres. [m]';
comment on column inflow_stretch.measured_to_m is 'Where it ends. [m]';
comment on column inflow_stretch.flow_l_per_min is 'What it measured in all. [l/min]';

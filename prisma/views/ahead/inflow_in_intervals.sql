-- One row per interval of the given length that contains measured metres, or metres behind the face. Intervals lie on round chainages and are
-- half open along the drive; inflow is apportioned by length along its measurement, so that it sums to the drive exactly.
create or replace function inflow_in_intervals(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, measured_m numeric, gap_m numeric, inflow_l_per_min numeric,
  per_100m_l_per_min numeric, cumulated_l_per_min numeric, measured_at timestamptz, drive_id int, from_m numeric, to_m numeric)
language sql stable begin atomic
  with place as (
    select d.id, p.code as project_code, d.code as drive_code, d.direction, d.start_chainage_m, d.direction * d.start_chainage_m as origin_m,
      drive_length(d.start_chainage_m, d.end_chainage_m) as length_m
    from drive d join project p on p.id = d.project_id where p.code = project and d.code = drive
  ), part as (
    select cell, s.measurement_id is null as is_gap, s.measured_at, cut.high_m - cut.low_m as m,
      apportion(s.flow_l_per_min, s.measured_from_m, s.measured_to_m, cut.low_m, cut.high_m) as inflow_l_per_min
    from place
    cross join lateral inflow_stretch_of(place.id) s
    cross join lateral generate_series(interval_holding(place.origin_m + s.from_m, interval_m), interval_ending(place.origin_m + s.to_m, interval_m)) cell
    cross join lateral (
      select greatest(s.from_m, cell * interval_m - place.origin_m) as low_m, least(s.to_m, (cell + 1) * interval_m - place.origin_m) as high_m
    ) cut
  ), cells as (
    select cell, coalesce(sum(m) filter (where not is_gap), 0.000) as measured_m, coalesce(sum(m) filter (where is_gap), 0.000) as gap_m,
      coalesce(sum(inflow_l_per_min), 0.000) as inflow_l_per_min, max(measured_at) as measured_at
    from part group by cell
  )
  select project_code, drive_code, chainage_of_driven(start_chainage_m, direction, bound.low_m), chainage_of_driven(start_chainage_m, direction, bound.high_m),
    c.measured_m, c.gap_m,
    c.inflow_l_per_min, round(100 * c.inflow_l_per_min / nullif(c.measured_m, 0), 3), sum(c.inflow_l_per_min) over (order by cell), c.measured_at,
    place.id, bound.low_m, bound.high_m
  from place
  cross join cells c
  cross join lateral (select interval_from(cell, interval_m, origin_m) as low_m, interval_to(cell, interval_m, origin_m, length_m) as high_m) bound;
end;

comment on function inflow_in_intervals(text, text, numeric) is
  'Inflow of a drive by intervals of the given length [m] on round chainages: metres that a measurement covers [m], metres behind the face that none covers '
  '[m], inflow [l/min], inflow per 100 m of the measured metres [l/min], inflow cumulated from the start of the drive [l/min], and when the latest '
  'measurement was made. Sums to inflow_total.';

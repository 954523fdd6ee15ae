-- rock_mass_of by the codes of project and drive, with the chainages of the intervals.
create or replace function rock_mass_in_intervals(project text, drive text, interval_m numeric)
returns table (
  project_code text, drive_code text, from_chainage_m numeric, to_chainage_m numeric, rating text, class text, coverage text, length_m numeric,
  share numeric, log_count int, lowest float8, highest float8, drive_id int, from_m numeric, to_m numeric, decided_m numeric,
  undecided_m numeric)
language sql stable begin atomic
  select p.code, d.code, chainage_of_driven(d.start_chainage_m, d.direction, r.from_m), chainage_of_driven(d.start_chainage_m, d.direction, r.to_m), r.rating,
    r.class, r.coverage,
    r.length_m, r.share, r.log_count, r.lowest, r.highest, d.id, r.from_m, r.to_m,
    r.decided_m, r.undecided_m
  from drive d
  join project p on p.id = d.project_id
  cross join lateral rock_mass_of(d.id, interval_m) r
  where p.code = project and d.code = rock_mass_in_intervals.drive;
end;

comment on function rock_mass_in_intervals(text, text, numeric) is
  'Metres behind the face of a drive by class of Q and of RMR in intervals of the given length [m] on round chainages; the rows of either rating sum to each '
  'interval.';

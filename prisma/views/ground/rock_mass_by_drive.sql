-- rock_mass_of over the whole driven length, for all drives.
create or replace view rock_mass_by_drive as
select p.code as project_code, d.code as drive_code, r.rating, r.class, r.coverage, r.length_m, r.share, r.log_count, r.lowest, r.highest,
  r.to_m as driven_m, d.id as drive_id, r.decided_m, r.undecided_m
from drive d
join project p on p.id = d.project_id
cross join lateral rock_mass_of(d.id, null) r;

comment on view rock_mass_by_drive is
  'Metres from the start of a drive to its face by class of Q and by class of RMR. The rows of either rating sum to the driven length.';
comment on column rock_mass_by_drive.rating is 'q or rmr.';
comment on column rock_mass_by_drive.class is 'Class of that rating; null where there is none.';
comment on column rock_mass_by_drive.coverage is 'rated; not_rated: logged without this rating; not_logged.';
comment on column rock_mass_by_drive.length_m is 'Metres of it behind the face. [m]';
comment on column rock_mass_by_drive.share is 'length_m over driven_m.';
comment on column rock_mass_by_drive.lowest is 'Lowest Q or RMR of the logs that count here.';
comment on column rock_mass_by_drive.highest is 'Highest of them.';
comment on column rock_mass_by_drive.driven_m is 'From the start of the drive to the face. [m]';
comment on column rock_mass_by_drive.decided_m is 'Metres of length_m where the log that counts was agreed as governing. [m]';
comment on column rock_mass_by_drive.undecided_m is 'Metres of length_m where logs differ in class and none was agreed; the lowest counts. [m]';

-- One row per drive, rating and piece between the ends of its logs: the log that counts there, as ground_log_used_of gives it.
create or replace view ground_log_used as
select
  p.code as project_code,
  d.code as drive_code,
  chainage_of_driven(d.start_chainage_m, d.direction, u.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, u.to_m) as to_chainage_m,
  u.from_m,
  u.to_m,
  u.rating,
  u.name as log_name,
  u.value,
  u.class,
  u.basis,
  u.log_count,
  d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ground_log_used_of(d.id, 0, 'infinity') u;

comment on view ground_log_used is 'The ground log that counts at each place, for Q and for RMR, in pieces between the ends of the logs.';
comment on column ground_log_used.rating is 'q or rmr.';
comment on column ground_log_used.value is 'Q or RMR of the log that counts; null where no log rates the place.';
comment on column ground_log_used.basis is
  'decided: agreed as the governing log; only: no other log rates the place; agreeing: all that do are of one class; undecided: they differ in class, and the '
  'lowest counts.';
comment on column ground_log_used.log_count is 'Logs of the place, rated or not.';

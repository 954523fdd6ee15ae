-- One row per drive and kind of window: the largest advance, when and where; of equal ones the earliest. No row if nothing was bored.
create or replace view best_advance as
select p.code as project_code, d.code as drive_code, best.*, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral (
  (select 'shift' as kind, shift_date || ' ' || shift_name as label, advance_m, starts_at as from_at, ends_at as to_at, from_chainage_m,
      face_chainage_m as to_chainage_m
    from shift_advance where drive_id = d.id and advance_m > 0 order by advance_m desc, starts_at limit 1)
  union all
  (select 'production_day', production_day::text, advance_m, production_day_start(production_day, p.time_zone, p.day_start),
      production_day_start(production_day + 1, p.time_zone, p.day_start), from_chainage_m, face_chainage_m
    from day_advance where drive_id = d.id and advance_m > 0 order by advance_m desc, production_day limit 1)
  union all
  (select 'rolling_24_h', null, advance_m, from_at, to_at, from_chainage_m, to_chainage_m
    from rolling_advance(p.code, d.code, 24) where advance_m > 0 order by advance_m desc, from_at limit 1)
  union all
  (select kind, label, advance_m, starts_at, ends_at, from_chainage_m, face_chainage_m
    from week_advance where drive_id = d.id and advance_m > 0 order by advance_m desc, first_day limit 1)
  union all
  (select kind, label, advance_m, starts_at, ends_at, from_chainage_m, face_chainage_m
    from month_advance where drive_id = d.id and advance_m > 0 order by advance_m desc, first_day limit 1)
) best;

comment on view best_advance is
  'The largest advance of a drive in a shift, a production day, any 24 h, an ISO week and a month: how much, when and where. Of equal ones the earliest.';
comment on column best_advance.kind is 'shift, production_day, rolling_24_h, week or month.';
comment on column best_advance.label is 'Which one: date and name of the shift, the day, 2027-W09 or 2027-03; null for any 24 h.';
comment on column best_advance.advance_m is 'Metres bored in it, by boring time. [m]';
comment on column best_advance.from_chainage_m is 'Where its first boring began. [m]';
comment on column best_advance.to_chainage_m is 'Where its last boring ended. [m]';

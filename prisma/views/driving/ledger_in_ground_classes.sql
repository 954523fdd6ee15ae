-- One row per ground class: hours, non-boring hours and the lost ones among them, metres bored in it, and both per 100 m. The metres are those of
-- shifts, because time is booked for no others. The null class stands for ground without a note, so hours and metres sum to the whole.
-- Notes do not overlap, so the search starts at the last one that begins behind the piece.
create or replace function ledger_in_ground_classes(drive int, from_day date, to_day date)
returns table (ground_class_code text, seconds numeric, hours numeric, share numeric, activity_count int, mean_hours numeric,
  longest_hours numeric, non_boring_seconds numeric, non_boring_hours numeric, lost_seconds numeric, lost_hours numeric, bored_m numeric,
  non_boring_hours_per_100_m numeric, lost_hours_per_100_m numeric)
language sql stable begin atomic
  with piece as (
    select cut.from_m, cut.to_m from boring_day cut join boring b on b.id = cut.boring_id
    where cut.drive_id = ledger_in_ground_classes.drive and b.shift_id is not null
      and cut.production_day >= coalesce(from_day, '-infinity') and cut.production_day <= coalesce(to_day, 'infinity')
  ), noted as (
    select c.code, sum(metres_within(g.from_m, g.to_m, piece.from_m, piece.to_m)) as bored_m
    from piece
    cross join lateral (
      select coalesce(max(from_m), 0) as first_m from ground_interval
      where drive_id = ledger_in_ground_classes.drive and from_m <= piece.from_m
    ) note
    cross join lateral (
      select * from ground_interval where drive_id = ledger_in_ground_classes.drive and from_m >= note.first_m and from_m < piece.to_m
        and to_m > piece.from_m offset 0
    ) g
    join ground_class c on c.id = g.ground_class_id
    group by c.code
  ), figure as (
    select key, seconds, share, activity_count, longest_hours, non_boring_seconds, lost_seconds, 0.000 as bored_m
    from ledger_by(ledger_in_ground_classes.drive, 'ground_class', 'all', from_day, to_day, null)
    union all
    select code, 0.000, 0.000000, 0, null, 0.000, 0.000, bored_m from noted
    union all
    select null, 0.000, 0.000000, 0, null, 0.000, 0.000, bored.m from (
      select (select coalesce(sum(to_m - from_m), 0.000) from piece) - (select coalesce(sum(bored_m), 0) from noted) as m
    ) bored where bored.m > 0
  )
  select key, sum(seconds), sum(seconds) / 3600, sum(share), sum(activity_count)::int, sum(seconds) / 3600 / nullif(sum(activity_count), 0),
    max(longest_hours), sum(non_boring_seconds), sum(non_boring_seconds) / 3600, sum(lost_seconds), sum(lost_seconds) / 3600, sum(bored_m),
    sum(non_boring_seconds) / 36 / nullif(sum(bored_m), 0), sum(lost_seconds) / 36 / nullif(sum(bored_m), 0)
  from figure group by key;
end;

comment on function ledger_in_ground_classes(int, date, date) is
  'Hours of a drive by the ground class noted at the face when each activity began, hours lost, metres bored in the class [m] and hours lost per 100 '
  'm; from and to production days.';

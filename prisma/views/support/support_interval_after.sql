-- The number of the first interval of interval_m on round chainages, after the given number, that contains support; null: there
-- is none. Intervals are numbered as in support_measure_in_intervals.
create or replace function support_interval_after(drive int, interval_m numeric, number int)
returns int language sql stable begin atomic
  select min(greatest(cell.number, support_interval_after.number::bigint + 1))::int
  from drive d
  cross join lateral (
    select d.direction * d.start_chainage_m as origin_m, interval_holding(d.direction * d.start_chainage_m, interval_m) as first_cell,
      interval_ending(d.direction * d.end_chainage_m, interval_m) as end_cell
  ) axis
  join support_installed r on r.drive_id = d.id
  cross join lateral (select least(interval_holding(axis.origin_m + r.from_m, interval_m), axis.end_cell) - axis.first_cell as number) cell
  where d.id = support_interval_after.drive
    and case when r.to_m > r.from_m then r.to_m > (axis.first_cell + support_interval_after.number + 1) * interval_m - axis.origin_m
      else cell.number > support_interval_after.number end;
end;

comment on function support_interval_after(int, numeric, int) is
  'Number of the first interval of that length [m] after the one numbered so that holds support of a drive; null: none.';

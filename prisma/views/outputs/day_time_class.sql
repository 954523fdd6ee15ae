-- Time booked in each production day of a drive, over a range of days, by time class, whichever shift booked it. The shifts of the days are found
-- by their times: a shift has at most 25 hours, so none starts two days before.
create or replace function day_time_class(drive int, from_day date, to_day date)
returns table (production_day date, counts_as text, seconds numeric)
language sql stable begin atomic
  select b.production_day, b.counts_as, sum(b.seconds)
  from (
    select s.id
    from drive d
    join project p on p.id = d.project_id
    join shift s on s.drive_id = d.id and s.starts_at < production_day_start(to_day + 1, p.time_zone, p.day_start)
      and s.starts_at > production_day_start(from_day - 2, p.time_zone, p.day_start) and s.ends_at > production_day_start(from_day, p.time_zone, p.day_start)
    where d.id = day_time_class.drive
  ) near
  join booked_part b on b.shift_id = near.id and b.drive_id = day_time_class.drive
  where b.production_day >= from_day and b.production_day <= to_day
  group by b.production_day, b.counts_as;
end;

comment on function day_time_class(int, date, date) is
  'Time booked in each production day of a drive, from a day to a day, by time class; a shift over the start of a day counts in both. [s]';

-- Advance in windows of a fixed length of elapsed hours, for all windows that can contain the largest. The position of the face is piecewise
-- linear in time, so the advance of a sliding window is too, and it can only stop rising where boring ends at the window's end or begins at its
-- start. So these windows suffice: those that begin when a boring begins, and those that end when a boring ends; the earliest of the largest is
-- one of them. n numbers the timed borings; an instant has the number of the last one begun, 0 if none.
create or replace function rolling_advance(project text, drive text, hours int)
returns table (from_at timestamptz, to_at timestamptz, advance_m numeric, from_chainage_m numeric, to_chainage_m numeric, drive_id int)
language sql stable begin atomic
  with place as (
    select d.id, d.start_chainage_m, d.direction, make_interval(hours => rolling_advance.hours) as length
    from drive d join project p on p.id = d.project_id
    where p.code = rolling_advance.project and d.code = rolling_advance.drive and rolling_advance.hours between 1 and 8784
  ), bored as materialized (
    select row_number() over (order by b.started_at) as n, b.from_m, b.to_m, b.started_at, b.ended_at,
      sum(b.to_m - b.from_m) over (order by b.started_at) as advanced_m, lag(b.to_m) over (order by b.started_at) as behind_m,
      lead(b.from_m) over (order by b.started_at) as next_m
    from place join boring b on b.drive_id = place.id and b.started_at is not null
  ), glide as materialized (
    select started_at as from_at, started_at + length as to_at from place, bored
    union
    select ended_at - length, ended_at from place, bored
  ), instant as (
    select at, bool_or(asked) as asked, max(n) as n
    from (
      select started_at as at, false as asked, n from bored
      union all select g.from_at, true, 0 from glide g
      union all select g.to_at, true, 0 from glide g
    ) event
    group by at
  ), begun as (
    select at, asked, max(n) over (order by at) as n from instant
  ), face as materialized ( -- metres advanced, the position reached, and that from which boring continues: they differ where metres have no times
    select i.at, coalesce(b.advanced_m - b.to_m + now.m, 0) as advanced_m,
      case when i.at > b.started_at then now.m else b.behind_m end as reached_m,
      case when i.at < b.ended_at then now.m else coalesce(b.next_m, first.from_m) end as onward_m
    from begun i
    cross join (select min(from_m) as from_m from bored) first
    left join bored b on b.n = i.n
    cross join lateral (select bored_until(b.from_m, b.to_m, b.started_at, b.ended_at, i.at) as m) now
    where i.asked
  )
  select g.from_at, g.to_at, z.advanced_m - a.advanced_m, chainage_of_driven(place.start_chainage_m, place.direction, a.onward_m),
    chainage_of_driven(place.start_chainage_m, place.direction, z.reached_m), place.id
  from place, glide g
  join face a on a.at = g.from_at
  join face z on z.at = g.to_at;
end;

comment on function rolling_advance(text, text, int) is
  'Advance in each window of so many elapsed hours (1 to 8784) that begins when a boring begins or ends when one ends: the largest advance in any such window '
  'is among them. advance_m: metres bored in it [m]; from and to chainage: where its first boring began and its last ended [m].';

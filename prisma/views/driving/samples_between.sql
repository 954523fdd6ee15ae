-- The machine samples of a drive over a range of production days, open at an end that is null. Always one row.
create or replace function samples_between(drive_id int, from_day date, to_day date)
returns table (first_at timestamptz, last_at timestamptz, sample_count int, production_days date[], sample_counts int[])
language sql stable rows 1 begin atomic
  select min(s.first_at), max(s.last_at), coalesce(sum(s.sample_count), 0)::int,
    coalesce(array_agg(s.production_day order by s.production_day), '{}'), coalesce(array_agg(s.sample_count order by s.production_day), '{}')
  from sample_day s
  where s.drive_id = samples_between.drive_id and s.production_day >= coalesce(samples_between.from_day, '-infinity')
    and s.production_day <= coalesce(samples_between.to_day, 'infinity');
end;

comment on function samples_between(int, date, date) is
  'Machine samples of a drive over production days: moments of the first and the last, their number [nr], and the days that have any with the number of each.';

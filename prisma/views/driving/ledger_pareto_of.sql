-- The codes by falling non-boring hours, with their share of the total and the cumulative share; with part 'lost', for lost time alone.
create or replace function ledger_pareto_of(drive int, part text, from_day date, to_day date)
returns table (rank int, code text, description text, counts_as text, seconds numeric, hours numeric, share numeric, cumulative_share numeric,
  activity_count int, mean_hours numeric, longest_hours numeric, lost boolean)
language sql stable begin atomic
  select row_number() over falling, c.code, c.description, c.counts_as::text, l.seconds, l.hours, l.share, sum(l.share) over falling,
    l.activity_count, l.mean_hours, l.longest_hours, l.lost_seconds > 0
  from drive d
  cross join lateral ledger_by(d.id, 'code', ledger_pareto_of.part, from_day, to_day, null) l
  join activity_code c on c.project_id = d.project_id and c.code = l.key
  where d.id = ledger_pareto_of.drive
  window falling as (order by l.seconds desc, l.key rows unbounded preceding);
end;

comment on function ledger_pareto_of(int, text, date, date) is
  'Codes of a drive by falling hours of a part of its time (non_boring, or lost: what the programme does not plan), with shares of it and their running sum; '
  'from and to production days.';

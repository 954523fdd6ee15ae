-- The codes by falling non-boring hours, with their share of all of them and the sum of the shares so far; with part 'lost' those of lost time alone.
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
  'Codes of a drive by falling hours of a part of its time (non_boring, or lost: what the programme does not plan), with shares of it and their running sum; from and to production days.';

create or replace view ledger_pareto as
select p.code as project_code, d.code as drive_code, l.*, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_pareto_of(d.id, 'non_boring', null, null) l;

comment on view ledger_pareto is 'Codes of a drive by falling non-boring hours: all, excluding boring, regripping and outside working time. [h]';
comment on column ledger_pareto.share is 'Part of the non-boring hours; sums to 1 exactly.';
comment on column ledger_pareto.cumulative_share is 'Share of this code and those before it; 1 at the last.';
comment on column ledger_pareto.lost is 'True: the programme does not plan the time of the code.';

-- The codes by falling hours lost, with their share of all that is lost and the sum of the shares so far.
create or replace function ledger_pareto_of(drive int, from_day date, to_day date)
returns table (rank int, code text, description text, counts_as text, seconds numeric, hours numeric, share numeric, cumulative_share numeric,
  activity_count int, mean_hours numeric, longest_hours numeric)
language sql stable begin atomic
  select row_number() over falling, c.code, c.description, c.counts_as::text, l.seconds, l.hours, l.share, sum(l.share) over falling,
    l.activity_count, l.mean_hours, l.longest_hours
  from drive d
  cross join lateral ledger_by(d.id, 'code', true, from_day, to_day, null) l
  join activity_code c on c.project_id = d.project_id and c.code = l.key
  where d.id = ledger_pareto_of.drive
  window falling as (order by l.seconds desc, l.key rows unbounded preceding);
end;

comment on function ledger_pareto_of(int, date, date) is
  'Codes of a drive by falling hours lost, with shares of the lost time and their running sum; from and to production days.';

create or replace view ledger_pareto as
select p.code as project_code, d.code as drive_code, l.*, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_pareto_of(d.id, null, null) l;

comment on view ledger_pareto is 'Codes of a drive by falling hours lost: all but boring, regripping and outside working time. [h]';
comment on column ledger_pareto.share is 'Part of the hours lost; sums to 1 exactly.';
comment on column ledger_pareto.cumulative_share is 'Share of this code and those before it; 1 at the last.';

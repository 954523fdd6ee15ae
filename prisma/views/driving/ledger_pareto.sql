-- ledger_pareto_of over the whole record of each drive: one row per code.
create or replace view ledger_pareto as
select p.code as project_code, d.code as drive_code, l.*, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_pareto_of(d.id, 'non_boring', null, null) l;

comment on view ledger_pareto is 'Codes of a drive by falling non-boring hours: all, excluding boring, regripping and outside working time. [h]';
comment on column ledger_pareto.share is 'Part of the non-boring hours; sums to 1 exactly.';
comment on column ledger_pareto.cumulative_share is 'Share of this code and those before it; 1 at the last.';
comment on column ledger_pareto.lost is 'True: the programme does not plan the time of the code.';

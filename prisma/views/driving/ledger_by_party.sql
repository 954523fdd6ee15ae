-- One row per drive and responsible party; null: none named.
create or replace view ledger_by_party as
select p.code as project_code, d.code as drive_code, l.key as responsible_party,
  l.seconds, l.hours, l.share, l.activity_count, l.mean_hours, l.longest_hours, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_by(d.id, 'party', 'all', null, null, null) l;

comment on view ledger_by_party is 'Hours of a drive by the party responsible for them; null: none named. [h]';

-- Dimension: parties.
create or replace view dim_party as
select y.id as party_id, y.project_id, p.code as project_code, y.code as party_code, y.name as party_name, y.kind::text as kind, y.side::text as side,
  h.change_number, h.changed_at
from party y
join project p on p.id = y.project_id
left join lateral (select * from record_changed where table_name = 'party' and record_id = y.id offset 0) h on true;

comment on view dim_party is 'Dimension: one row per party.';
comment on column dim_party.party_code is 'Code of the party.';
comment on column dim_party.party_name is 'Name of the party.';
comment on column dim_party.kind is 'Kind of party.';
comment on column dim_party.side is 'Side on which it signs.';

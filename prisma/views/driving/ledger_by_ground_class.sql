-- One row per drive and ground class; null: none noted.
create or replace view ledger_by_ground_class as
select p.code as project_code, d.code as drive_code, l.*, d.id as drive_id
from drive d
join project p on p.id = d.project_id
cross join lateral ledger_in_ground_classes(d.id, null, null) l;

comment on view ledger_by_ground_class is 'Hours of a drive by ground class, and non-boring and lost hours per 100 m bored in it; null: none noted. [h, m]';
comment on column ledger_by_ground_class.non_boring_hours is 'Hours, excluding boring, regripping and outside working time. [h]';
comment on column ledger_by_ground_class.lost_hours is 'Of these the hours that the programme does not plan. [h]';
comment on column ledger_by_ground_class.non_boring_hours_per_100_m is 'non_boring_hours over bored_m, times 100; null when none was bored. [h per 100 m]';
comment on column ledger_by_ground_class.bored_m is 'Metres that shifts bored in the class. [m]';
comment on column ledger_by_ground_class.lost_hours_per_100_m is 'lost_hours over bored_m, times 100; null when none was bored. [h per 100 m]';

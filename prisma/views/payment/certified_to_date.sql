-- What certified valuations contain of each record under each item, in base units.
create or replace view certified_to_date as
select s.drive_id, s.pay_item_id, s.reference, s.source::text as source, s.source_key, s.class_code, max(s.sequence) as sequence, sum(s.quantity) as quantity,
  max(s.shift_date) as shift_date, max(s.shift_name) as shift_name, min(s.from_m) as from_m, max(s.to_m) as to_m
from certified_source s
join valuation v on v.id = s.valuation_id and v.state = 'certified'
group by s.drive_id, s.pay_item_id, s.reference, s.source, s.source_key, s.class_code;

comment on view certified_to_date is 'Certified quantities of each record under each pay item. [nr, m, m2, m3, kg, s]';

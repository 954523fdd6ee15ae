-- One row a class decision, withdrawn ones too.
create or replace view class_decision_register as
select
  p.code as project_code,
  d.code as drive_code,
  r.number,
  r.state::text as state,
  d.start_chainage_m + d.direction * r.from_m as from_chainage_m,
  d.start_chainage_m + d.direction * r.to_m as to_chainage_m,
  r.from_m,
  r.to_m,
  r.to_m - r.from_m as length_m,
  c.code as ground_class_code,
  r.contractor_representative,
  r.employer_representative,
  r.remark,
  r.proposed_by,
  r.proposed_at,
  r.agreed_by,
  r.agreed_at,
  r.disputed_by,
  r.disputed_at,
  r.dispute_reason,
  r.withdrawn_by,
  r.withdrawn_at,
  r.withdrawal_reason,
  r.drive_id
from class_decision r
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id
join ground_class c on c.id = r.ground_class_id;

comment on view class_decision_register is 'The class decisions of each drive: place, class, state, who proposed, agreed, disputed and withdrew. Withdrawn ones stay and count nowhere. [m]';
comment on column class_decision_register.disputed_by is 'Who disputed it; stays when it is agreed afterwards.';

-- One row per class decision, including withdrawn ones.
create or replace view class_decision_register as
select
  p.code as project_code,
  d.code as drive_code,
  r.number,
  r.state::text as state,
  chainage_of_driven(d.start_chainage_m, d.direction, r.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, r.to_m) as to_chainage_m,
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
  r.drive_id,
  r.proposed_for,
  r.agreed_for,
  r.disputed_for,
  r.withdrawn_for,
  signed_by(r.proposed_for, r.agreed_for, r.agreed_by is not null) as signatures
from class_decision r
join drive d on d.id = r.drive_id
join project p on p.id = d.project_id
join ground_class c on c.id = r.ground_class_id;

comment on view class_decision_register is
  'The class decisions of each drive: place, class, state, who proposed, agreed, disputed and withdrew. Withdrawn ones stay and count nowhere. [m]';
comment on column class_decision_register.disputed_by is 'Who disputed it; stays when it is agreed afterwards.';
comment on column class_decision_register.agreed_for is 'For which party, as JSON: code, name, kind, side at that moment; so the others. Null: not recorded.';
comment on column class_decision_register.signatures is 'two_parties, one_party or parties_not_recorded: who proposed and who agreed; null: not agreed.';

-- One row per shift: how far it is accepted, by shift_silence, unless the other side countersigned or disputed it before. A later dispute is
-- shown but changes nothing here. Deemed acceptance is not a signature: the state of the shift stays submitted.
create or replace view shift_acceptance as
select
  p.code as project_code,
  d.code as drive_code,
  s.shift_date,
  n.name as shift_name,
  s.state::text as state,
  case when s.state::text <> 'submitted' then s.state::text
    when s.disputed_at < coalesce(due.deemed_at, 'infinity') then 'disputed'
    when due.is_over then 'deemed_accepted' else 'submitted' end as acceptance,
  s.submitted_at,
  signed_for(s.posted_for) as posted_for,
  case when s.state::text = 'submitted' and coalesce(s.disputed_at >= due.deemed_at, true) then due.respond_by end as respond_by,
  case when s.state::text = 'submitted' and due.is_over and coalesce(s.disputed_at >= due.deemed_at, true) then due.respond_by + 1 end as deemed_on,
  due.days as rule_days,
  due.clause as rule_clause,
  s.disputed_by,
  s.disputed_at,
  s.dispute_reason,
  signed_for(s.disputed_for) as disputed_for,
  s.countersigned_by,
  s.countersigned_at,
  signed_for(s.countersigned_for) as countersigned_for,
  signed_by(s.posted_for, s.countersigned_for, s.countersigned_by is not null) as signatures,
  s.drive_id,
  s.id as shift_id,
  due.pays as rule_pays
from shift s
join drive d on d.id = s.drive_id
join project p on p.id = d.project_id
join calendar_shift n on n.id = s.calendar_shift_id
left join shift_silence due on due.shift_id = s.id;

comment on view shift_acceptance is
  'Acceptance of each shift: draft, submitted, disputed, deemed_accepted (by silence, under the rule of the project: no signature), countersigned. The '
  'contract decides what follows from it.';
comment on column shift_acceptance.respond_by is
  'Last local day on which the other side can countersign or dispute it before it is deemed accepted; null: no rule, or answered.';
comment on column shift_acceptance.deemed_on is 'Local day from whose beginning on it is deemed accepted; null: it is not, at the moment asked for.';
comment on column shift_acceptance.rule_days is 'Days of the rule in force on the day it was submitted. [d]';
comment on column shift_acceptance.rule_clause is 'What the contract says, or where.';
comment on column shift_acceptance.rule_pays is 'Whether what is deemed accepted under that rule counts in valuations.';
comment on column shift_acceptance.posted_for is
  'Party on whose behalf it was last posted, as JSON: code, name, kind and side at that time, and why one party signed twice; likewise the others.';
comment on column shift_acceptance.signatures is 'two_parties, one_party or parties_not_recorded; null: not countersigned.';

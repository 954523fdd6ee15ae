-- One row per notice: when it is due, and its state. The day of the event does not count, the last day counts in full, by the local days of the
-- project. A sending or an answer after the moment asked for does not count yet.
create or replace view notice as
select
  p.code as project_code,
  d.code as drive_code,
  n.code,
  r.code as rule_code,
  r.name as rule_name,
  r.days as rule_days,
  r.clause as rule_clause,
  n.happened_at,
  n.concerns,
  chainage_of_driven(d.start_chainage_m, d.direction, n.from_m) as from_chainage_m,
  chainage_of_driven(d.start_chainage_m, d.direction, n.to_m) as to_chainage_m,
  n.shift_date,
  n.shift_name,
  at.due_on,
  case when n.answered_at <= at.moment then 'answered' when at.is_sent then 'sent' when at.today <= at.due_on then 'due' else 'overdue' end as state,
  case when not at.is_sent then at.due_on - at.today end as days_left,
  case when at.is_sent then timezone(p.time_zone, n.sent_at)::date > at.due_on end as is_late,
  n.sent_at,
  n.sent_by,
  n.sent_reference,
  n.answered_at,
  n.answered_by,
  n.answer,
  n.from_m,
  n.to_m,
  n.drive_id,
  n.id as notice_id
from contract_notice n
join notice_rule r on r.id = n.notice_rule_id
join drive d on d.id = n.drive_id
join project p on p.id = d.project_id
cross join lateral (
  select timezone(p.time_zone, n.happened_at)::date + r.days as due_on, timezone(p.time_zone, m.moment)::date as today, m.moment,
    coalesce(n.sent_at <= m.moment, false) as is_sent
  from (select moment_asked() as moment) m
) at;

comment on view notice is
  'Notices with when they are due. A reminder by the rules that the project entered: the contract decides what must be notified, to whom, in which form and '
  'by when, and what follows when it is not.';
comment on column notice.rule_days is 'Calendar days after the day of the event. [d]';
comment on column notice.due_on is 'Last local day on which it can be sent in time.';
comment on column notice.state is 'due, overdue, sent or answered, at the moment asked for.';
comment on column notice.days_left is 'Days until due_on, negative when overdue; null: it is sent. [d]';
comment on column notice.is_late is 'Whether it was sent after due_on; null: it is not sent.';

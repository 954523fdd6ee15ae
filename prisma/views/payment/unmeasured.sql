-- What is not paid until a day, by kind.
create or replace function unmeasured(project text, drive text, until date)
returns table (source text, code text, record_count int, first_key text, last_key text, reason text)
language sql stable begin atomic
  select c.source, c.code, c.record_count, c.first_key, c.last_key, c.reason
  from measure_check_of(unmeasured.project, unmeasured.drive, unmeasured.until) c where c.part = 'unmeasured';
end;

comment on function unmeasured(text, text, date) is
  'Records until a day that nothing is paid for, by source, support item or activity code (of grouting: hole or mix), and reason: no_rule, no rule catches '
  'what a countersigned shift holds; no_countersigned_shift, a probe hole or grouted hole that no countersigned shift holds.';

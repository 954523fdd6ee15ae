-- The same without the lines.
create or replace view valuation_summary as
select project_code, drive_code, valuation_number, state, cut_off, remark, currency, previous_amount, amount, to_date_amount, line_count, held_count,
  prepared_by, prepared_at, agreed_by, agreed_at, certified_by, certified_at, measured_change, agreed_seal, seal, drive_id, valuation_id, open_shift_count,
  prepared_for, agreed_for, certified_for, signatures, probe_holes_without_time, deemed_shift_count
from valuation_document;

comment on view valuation_summary is 'One row per valuation: cut-off, state, who agreed and certified, sums, and the SHA-256 seal over its lines.';
comment on column valuation_summary.amount is 'Sum of the amounts of this period. [currency]';
comment on column valuation_summary.held_count is 'Lines with a quantity that is held apart: disputed, or of a class that is contested.';
comment on column valuation_summary.agreed_seal is 'The seal that was agreed; if it differs from seal, the record has changed since.';
comment on column valuation_summary.measured_change is 'Number of the last change of the record before it was certified.';
comment on column valuation_summary.open_shift_count is
  'Shifts until the cut-off that are neither countersigned nor paid as deemed accepted: they do not count, and it cannot be certified. Null: certified.';
comment on column valuation_summary.agreed_for is 'For which party, as JSON: code, name, kind, side at that moment; so the others. Null: not recorded.';
comment on column valuation_summary.signatures is 'two_parties, one_party or parties_not_recorded: who agreed and who certified; null: not certified.';
comment on column valuation_summary.probe_holes_without_time is
  'Names of the probe holes whose time of drilling is not noted, as JSON: they are in no period and pay nothing. Null: certified.';
comment on column valuation_summary.deemed_shift_count is
  'Those of open_shift_count that are deemed accepted at the moment asked for: not a signature, so they do not count either. Null: certified.';

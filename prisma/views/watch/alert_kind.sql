-- One row per kind of alert: its meaning, its units, and the tables whose changes raise or clear it. A kind that is evaluated in the transaction is
-- evaluated when that writes to one of them: rows of the drive, or rows of the project as a whole. The others are only evaluated periodically.
create or replace function alert_kind() returns table (kind text, threshold_unit text, unit text, needs_rule boolean, in_transaction boolean,
  drive_tables text[],
  project_tables text[], meaning text) language sql immutable parallel safe as $$
select kind, threshold_unit, unit, needs_rule, in_transaction, drive_tables || array['drive'] as drive_tables,
  project_tables || array['project', 'alert_rule'] as project_tables, meaning
from (values
  ('cover_below', 'm', 'm', true, true, array['boring', 'probe_hole', 'probe_requirement'], '{}'::text[],
    'The face may go less far than the threshold, as the ground ahead is probed; where no probe requirement is in force, the probed length counts.'),
  ('hold_point_passed', null, 'm', false, true, array['boring', 'hold_point', 'hold_point_release'], '{}',
    'The face has passed a hold point without a valid release. It needs no rule and cannot be switched off.'),
  ('thrust_above', '%', 'kN', true, true, array['boring', 'shift'], array['machine', 'machine_revision'],
    'A boring of the last 24 hours of boring had more thrust per disc than the threshold in percent of the rated load of a disc.'),
  ('unsupported_above', null, 'm', true, false,
    array['boring', 'support_installed', 'ground_interval', 'class_decision', 'design_section', 'design_section_item', 'drive_support_limit'],
    array['support_item', 'ground_class', 'standard_support', 'standard_support_item', 'working_zone'],
    'Support of a zone is incomplete, or not assessed, farther behind the face than the limit of the zone.'),
  ('inflow_above', null, 'l/min', true, true, array['inflow_measurement', 'water_limit', 'probe_hole', 'probe_log'], '{}',
    'An inflow exceeds a trigger of the water limits in force, or the pumping capacity.'),
  ('shift_late', 'h', 'h', true, true, array['shift', 'boring'], array['calendar_shift', 'site_closure'],
    'A shift of the calendar has not been posted as many hours after its end.'),
  ('metres_open', 'h', 'h', true, true, array['boring', 'shift'], '{}',
    'Metres behind the face are without a boring as many hours after the boring beyond them ended.'),
  ('minutes_open', 'h', 'h', true, true, array['shift', 'activity'], '{}',
    'Minutes of a shift are without an activity as many hours after its end.'),
  ('class_decision_open', 'd', 'd', true, true, array['class_decision'], '{}',
    'A class decision is proposed or disputed, and not agreed as many days after it was proposed.')
) k (kind, threshold_unit, unit, needs_rule, in_transaction, drive_tables, project_tables, meaning)
$$;

comment on function alert_kind is
  'One row per kind of alert: its meaning; threshold_unit: unit of the threshold of a rule, null where the record itself has the limit; unit: of value and '
  'limit; needs_rule: whether a project has to set a rule for it; in_transaction: judged in the transaction that writes to drive_tables or project_tables, '
  'else by the clock after one did.';

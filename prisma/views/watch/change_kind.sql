-- The part of the record to which each table belongs, in the words of the trade: one row per table with a history. kind: a part of the record.
create or replace function change_kind() returns table (table_name text, kind text) language sql immutable parallel safe as $$
  values
    ('project', 'project'),
    ('party', 'party'), ('party_member', 'party'),
    ('member', 'access'), ('api_key', 'access'), ('webhook_endpoint', 'access'), ('bi_grant', 'access'),
    ('calendar_shift', 'calendar'), ('site_closure', 'calendar'),
    ('activity_code', 'catalogue'), ('equipment', 'catalogue'), ('ground_class', 'catalogue'), ('support_item', 'catalogue'),
    ('working_zone', 'catalogue'), ('doubt_limit', 'catalogue'), ('doubt_limit_item', 'catalogue'),
    ('machine', 'machine'), ('machine_revision', 'machine'),
    ('drive', 'drive'), ('programme_point', 'programme'),
    ('shift', 'shift'), ('boring', 'shift'), ('activity', 'shift'), ('ground_interval', 'shift'), ('support_installed', 'shift'),
    ('shift_confirmation', 'shift'),
    ('investigation', 'probing'), ('indication', 'probing'), ('encounter', 'probing'),
    ('hold_point', 'hold_point'), ('hold_point_release', 'hold_point'),
    ('alert_rule', 'alert'), ('alert', 'alert'),
    ('probe_hole', 'probing'), ('probe_log', 'probing'), ('probe_requirement', 'probing'),
    ('inflow_measurement', 'water'), ('water_limit', 'water'), ('lugeon_test', 'water'), ('lugeon_step', 'water'),
    ('grout_round', 'grouting'), ('grout_hole', 'grouting'), ('grout_mix', 'grouting'),
    ('ground_log_sheet', 'geology'), ('discontinuity', 'geology'), ('overbreak_item', 'geology'),
    ('class_decision', 'class'),
    ('standard_support', 'support_standard'), ('standard_support_item', 'support_standard'), ('design_section', 'support_standard'),
    ('design_section_item', 'support_standard'), ('drive_support_limit', 'support_standard'),
    ('baseline', 'baseline'), ('baseline_interval', 'baseline'), ('entitlement', 'baseline'), ('entitlement_item', 'baseline'),
    ('bill', 'bill'), ('pay_item', 'bill'), ('measurement_rule', 'bill'),
    ('valuation', 'valuation'), ('certified_line', 'valuation'), ('lump_progress', 'valuation'),
    ('quantity_dispute', 'valuation'), ('acceptance_rule', 'valuation'),
    ('notice_rule', 'notice'), ('contract_notice', 'notice'),
    ('attached_file', 'attachment'),
    ('stroke_proposal', 'sample')
$$;
comment on function change_kind is 'One row per table of which the history is kept: the part of the record that it belongs to.';

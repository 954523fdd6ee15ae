-- The tables that an assessment reads, one row per table. of_drive: each of its rows belongs to one drive; otherwise to the project as a whole. A
-- test checks against the functions themselves that the list is complete.
create or replace function judged_table() returns table (name text, of_drive boolean) language sql immutable parallel safe as $$
  values
    ('drive', true), ('boring', true), ('support_installed', true), ('ground_interval', true), ('class_decision', true),
    ('design_section', true), ('design_section_item', true), ('drive_support_limit', true),
    ('project', false), ('support_item', false), ('ground_class', false), ('standard_support', false), ('standard_support_item', false), ('working_zone', false)
$$;

comment on function judged_table is
  'The tables that an assessment of support reads; of_drive: each row belongs to one drive, otherwise to the project as a whole.';

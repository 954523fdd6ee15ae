-- The tables that a judgement reads, one row per table. of_drive: its rows are each of one drive; else of the project as a whole. That it is all of
-- them is found from the functions themselves, by a test.
create or replace function judged_table() returns table (name text, of_drive boolean) language sql immutable parallel safe as $$
  values
    ('drive', true), ('boring', true), ('support_installed', true), ('ground_interval', true), ('class_decision', true),
    ('design_section', true), ('design_section_item', true), ('drive_support_limit', true),
    ('project', false), ('support_item', false), ('ground_class', false), ('standard_support', false), ('standard_support_item', false), ('working_zone', false)
$$;

comment on function judged_table is 'The tables that a judgement of support reads; of_drive: each row is of one drive, else of the project as a whole.';

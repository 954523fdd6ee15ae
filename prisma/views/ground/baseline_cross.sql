-- The driven length of each pair of baseline class and governing class; a null governing class: none yet.
create or replace function baseline_cross(project text, drive text, baseline text)
returns table (baseline_class_code text, governing_class_code text, length_m numeric, drive_id int)
language sql stable begin atomic
  select s.baseline_class_code, s.governing_class_code, sum(s.length_m), s.drive_id
  from baseline_strip(baseline_cross.project, baseline_cross.drive, baseline_cross.baseline) s
  group by s.baseline_class_code, s.governing_class_code, s.drive_id;
end;

comment on function baseline_cross(text, text, text) is
  'Cross table on the driven part of a drive: metres by class of the baseline and governing class (null: no class yet). They sum to the face position '
  'exactly. [m]';

-- The cells in which support is looked at near the face: support_stroke_from of the whole drive.
create or replace function support_stroke(drive_id int) returns numeric[] language sql stable begin atomic
  select support_stroke_from(support_stroke.drive_id, 0);
end;

comment on function support_stroke(int) is
  'Bounds of a drive''s strokes from its start to the face, and of what lies between them, cut to 2.5 m at the most. [driven m]';

-- Cached bounds of strokes: see support_stroke of schema report.
create or replace function support_stroke(drive_id int) returns numeric[] language sql stable begin atomic
  select k.strokes from kept.judgement k where k.drive_id = support_stroke.drive_id;
end;

comment on function support_stroke(int) is 'The bounds of strokes, as they are kept: see support_stroke of schema report. [driven m]';

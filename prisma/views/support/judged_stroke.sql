-- The bounds of the strokes that support_judged_of judges: here all of the drive. In schema report_kept none, as what they lack is kept; in report_since those
-- from the place on up to which what is kept stands.
create or replace function judged_stroke(drive_id int, bounds numeric[]) returns numeric[] language sql stable begin atomic
  select support_stroke(judged_stroke.drive_id);
end;

comment on function judged_stroke(int, numeric[]) is 'The bounds of the strokes that support_judged_of judges: of the whole drive. [driven m]';

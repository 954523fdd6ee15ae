import { doubtsAsJson } from './read-doubts.js';

/** Borings of other shifts, o, in strokes that the shift has or had: its history names both, so that a repeated write finds what the first one found. */
export const sharedStrokes = (shiftId: string): string => `(
    select distinct drive_id, stroke_number from history.boring where shift_id = ${shiftId} offset 0
  ) had
  cross join lateral (
    select b.shift_id, b.stroke_number from boring b
    where b.drive_id = had.drive_id and b.stroke_number = had.stroke_number and b.shift_id <> ${shiftId} offset 0
  ) o`;

/**
 * What the borings of a shift, $1, can make doubtful in others: what reaches ahead of the face in those after it until someone bores again, and the length of
 * strokes that it shares or, in an earlier version, shared. Found from its own rows, however long the drive is.
 */
const OF_OTHERS = `select s.id as shift_id, 'ahead_of_face' as doubt, null::int as stroke_number
  from shift own
  cross join lateral (
    select coalesce((select b.started_at from boring b where b.drive_id = own.drive_id and b.started_at >= own.ends_at order by b.started_at limit 1),
      'infinity') as at offset 0
  ) bored
  cross join lateral (
    select coalesce((select b.to_m from boring b where b.drive_id = own.drive_id and b.started_at < own.ends_at order by b.started_at desc limit 1),
      0) as m offset 0
  ) face
  cross join lateral (
    select a.id from shift a
    where a.drive_id = own.drive_id and a.starts_at >= own.ends_at and a.starts_at < bored.at and a.ends_at <= bored.at
      and (exists (select from support_installed u where u.shift_id = a.id and u.to_m > face.m)
        or exists (select from ground_interval g where g.shift_id = a.id and g.to_m > face.m))
    offset 0
  ) s
  where own.id = $1
  union
  select o.shift_id, 'stroke_longer_than_machine', o.stroke_number from ${sharedStrokes('$1')}`;

/** For the start of a statement about shift $1. */
export const WITH_OTHERS = `with other as materialized (${OF_OTHERS})`;

/** The doubts about other shifts that hang on the borings of shift $1, as JSON for doubtsIn. */
export const DOUBTS_OF_OTHERS = doubtsAsJson(`drive_id = (select drive_id from shift where id = $1)
  and shift_id = any (array(select shift_id from other))
  and (shift_id, doubt, coalesce(stroke_number, 0)) in (select shift_id, doubt, coalesce(stroke_number, 0) from other)`);

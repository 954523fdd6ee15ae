import { doubtsAsJson } from './read-doubts.js';

/**
 * What the borings of a shift, $1, can make doubtful in others: what reaches ahead of the face in those after it until someone bores again, and the length of
 * strokes that it shares. Found from its own rows, however long the drive is.
 */
const OF_OTHERS = `select s.id as shift_id, 'ahead_of_face' as doubt, null::int as stroke_number
  from shift own
  cross join lateral (
    select coalesce((select b.started_at from boring b where b.drive_id = own.drive_id and b.started_at >= own.ends_at order by b.started_at limit 1),
      'infinity') as at offset 0
  ) bored
  cross join lateral (
    select a.id from shift a
    where a.drive_id = own.drive_id and a.starts_at >= own.ends_at and a.starts_at < bored.at and a.ends_at <= bored.at order by a.starts_at limit 100
  ) s
  where own.id = $1
  union
  select o.shift_id, 'stroke_longer_than_machine', o.stroke_number
  from boring b join boring o on o.drive_id = b.drive_id and o.stroke_number = b.stroke_number and o.shift_id <> b.shift_id where b.shift_id = $1`;

/** For the start of a statement about shift $1. */
export const WITH_OTHERS = `with other as materialized (${OF_OTHERS})`;

/** The doubts about other shifts that hang on the borings of shift $1, as JSON for doubtsIn. */
export const DOUBTS_OF_OTHERS = doubtsAsJson(`drive_id = (select drive_id from shift where id = $1)
  and shift_id = any (array(select shift_id from other))
  and (shift_id, doubt, coalesce(stroke_number, 0)) in (select shift_id, doubt, coalesce(stroke_number, 0) from other)`);

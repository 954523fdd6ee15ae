import { impossibleRate } from '../strokes/impossible-rate.js';
import { byPlace, readInterval } from './read-interval.js';
import { readHours } from './read-hours.js';
import type { ShiftStroke } from './shift-document.model.js';
import type { BoringRow, ShiftFrame } from './shift-rows.js';
import { metres, minutes, moment } from '../../../common/words.js';

/** The borings of the document, by place; overlaps, and times or numbers out of order, are faults. */
export const readBorings = async (strokes: ShiftStroke[], frame: ShiftFrame): Promise<BoringRow[]> => {
  const { turns } = frame;
  const numbers = new Set<number>();
  const rows: BoringRow[] = [];
  for (const [stroke, { number, borings }] of strokes.entries()) {
    if (turns.isOver) await turns.wait();
    if (numbers.has(number))
      frame.faults.add(`/strokes/${stroke}/number`, number, `stroke ${number} is listed twice`);
    numbers.add(number);
    for (const [index, boring] of borings.entries()) {
      const pointer = `/strokes/${stroke}/borings/${index}`;
      const row: BoringRow = {
        pointer,
        strokeNumber: number,
        ...readInterval(boring, pointer, frame),
        ...readHours(boring, pointer, `the boring of stroke ${number}`, frame),
        thrustKn: boring.thrustKn ?? null,
        torqueKnm: boring.torqueKnm ?? null,
        rotationRpm: boring.rotationRpm ?? null,
        penetrationMmPerRev: boring.penetrationMmPerRev ?? null,
        gripperPressureBar: boring.gripperPressureBar ?? null,
        muckMassT: boring.muckMassT == null ? null : Number(boring.muckMassT).toFixed(3),
      };
      rows.push(row);
      const impossible = impossibleRate(row);
      if (impossible)
        frame.faults.add(
          `${pointer}/endedAt`,
          boring.endedAt,
          `the boring of stroke ${number}: ${impossible}`,
        );
    }
  }
  rows.sort(byPlace);
  for (const [index, row] of rows.entries()) {
    if (turns.isOver) await turns.wait();
    const behind = rows[index - 1];
    if (behind) compare(behind, row, frame);
  }
  return rows;
};

/** The pointer to the number of the stroke of a boring. */
export const numberOf = ({ pointer }: Pick<BoringRow, 'pointer'>): string =>
  pointer.replace(/borings.*$/, 'number');

const compare = (behind: BoringRow, row: BoringRow, { context, faults }: ShiftFrame): void => {
  const chainage = (mm: number): string => context.frame.chainage(mm);
  const twiceMm = behind.toMm - row.fromMm;
  if (twiceMm > 0)
    faults.add(
      `${row.pointer}/from`,
      chainage(row.fromMm),
      `stroke ${row.strokeNumber} starts at ${chainage(row.fromMm)}, but the face was at ${chainage(behind.toMm)}: ${metres(twiceMm)} twice`,
    );
  else if (row.startedAt < behind.endedAt)
    faults.add(
      `${row.pointer}/startedAt`,
      moment(row.startedAt, context.timeZone),
      `stroke ${row.strokeNumber} lies ahead of stroke ${behind.strokeNumber}, but its boring began ${minutes(behind.endedAt - row.startedAt)} before that one ended`,
    );
  if (row.strokeNumber < behind.strokeNumber)
    faults.add(
      numberOf(row),
      row.strokeNumber,
      `stroke ${row.strokeNumber} lies ahead of stroke ${behind.strokeNumber}: stroke numbers must rise along the drive`,
    );
};

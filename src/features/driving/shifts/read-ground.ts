import { byPlace, readInterval } from './read-interval.js';
import type { ShiftGround } from './shift-document.model.js';
import type { GroundRow, ShiftFrame } from './shift-rows.js';
import { unknownCode } from '../../../common/unknown-code.js';
import { metres } from '../../../common/words.js';

/** The ground notes of the document, by place; a metre has only one class. */
export const readGround = (ground: ShiftGround[], frame: ShiftFrame): GroundRow[] => {
  const { context, faults } = frame;
  const rows = ground.map((note, index): GroundRow => {
    const pointer = `/ground/${index}`;
    if (!Object.hasOwn(context.groundClasses, note.groundClass))
      faults.add(
        `${pointer}/groundClass`,
        note.groundClass,
        unknownCode('ground class', note.groundClass, context.groundClasses),
      );
    return {
      pointer,
      ...readInterval(note, pointer, frame),
      groundClass: note.groundClass,
      lithology: note.lithology ?? null,
      remark: note.remark ?? null,
    };
  });
  rows.sort(byPlace);
  rows.forEach((row, index) => {
    const behind = rows[index - 1];
    if (behind && behind.toMm > row.fromMm)
      faults.add(
        `${row.pointer}/from`,
        context.frame.chainage(row.fromMm),
        `ground ${row.groundClass} starts at ${context.frame.chainage(row.fromMm)}, but ${behind.groundClass} runs to ${context.frame.chainage(behind.toMm)}: ${metres(behind.toMm - row.fromMm)} twice`,
      );
  });
  return rows;
};

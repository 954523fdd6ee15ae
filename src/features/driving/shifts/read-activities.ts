import { readHours } from './read-hours.js';
import type { ShiftActivity } from './shift-document.model.js';
import type { ActivityRow, ShiftFrame } from './shift-rows.js';
import { unknownCode } from '../../../common/unknown-code.js';
import { minutes, moment } from '../../../common/words.js';

/** The activities of the document, by time; overlaps, unknown codes and unknown equipment are faults. */
export const readActivities = (activities: ShiftActivity[], frame: ShiftFrame): ActivityRow[] => {
  const { context, faults } = frame;
  const { activityCodes, timeZone } = context;
  const rows = activities.map((activity, index): ActivityRow => {
    const pointer = `/activities/${index}`;
    if (!Object.hasOwn(activityCodes, activity.code))
      faults.add(
        `${pointer}/code`,
        activity.code,
        unknownCode('activity code', activity.code, activityCodes),
      );
    const equipment = activity.equipment ?? undefined;
    if (equipment !== undefined && !Object.hasOwn(context.equipment, equipment))
      faults.add(`${pointer}/equipment`, equipment, unknownCode('equipment', equipment, context.equipment));
    return {
      pointer,
      ...readHours(activity, pointer, `activity ${activity.code}`, frame),
      code: activity.code,
      responsibleParty: activity.responsibleParty ?? null,
      remark: activity.remark ?? null,
      ...(equipment === undefined ? {} : { equipment }),
    };
  });
  rows.sort((a, b) => a.startedAt - b.startedAt || a.endedAt - b.endedAt);
  rows.forEach((row, index) => {
    const before = rows[index - 1];
    if (before && before.endedAt > row.startedAt)
      faults.add(
        `${row.pointer}/startedAt`,
        moment(row.startedAt, timeZone),
        `activity ${row.code} starts at ${moment(row.startedAt, timeZone)}, but ${before.code} lasts until ${moment(before.endedAt, timeZone)}: ${minutes(before.endedAt - row.startedAt)} twice`,
      );
  });
  return rows;
};

import { type Fault, faulty } from '../../../common/api/problem.js';
import type { DriveFrame } from '../../../common/drive-frame.js';
import { metresText } from '../../../engineering/chainage.js';
import type { ProgrammeInput } from './programme.models.js';

/** A point as stored. */
export interface ProgrammeRow {
  day: string;
  m: string;
}

/** Longer than any drive: detects a mistyped year. [d] */
const LONGEST_DAYS = 30 * 366;

const daysBetween = (from: string, to: string): number => (Date.parse(to) - Date.parse(from)) / 86_400_000;

/** The points as stored. @throws ProblemError invalid with every fault of their order and places */
export const programmeRows = ({ points }: ProgrammeInput, frame: DriveFrame): ProgrammeRow[] => {
  const faults: Fault[] = [];
  const place = points.map(({ chainage }) => frame.drivenMm(chainage));
  for (const [index, { date, chainage }] of points.entries()) {
    const fault = (field: 'date' | 'chainage', value: string, detail: string): void => {
      faults.push({ in: 'body', pointer: `/points/${index}/${field}`, value, detail });
    };
    const outside = frame.outside(place[index] as number);
    if (outside) fault('chainage', chainage, outside);
    const earlier = points[index - 1];
    if (!earlier) continue;
    if (date <= earlier.date) fault('date', date, `${date} does not come after ${earlier.date}`);
    if (!outside && (place[index] as number) < (place[index - 1] as number))
      fault(
        'chainage',
        chainage,
        `${chainage} lies behind ${earlier.chainage}: the drive runs with ${frame.direction === 1 ? 'rising' : 'falling'} chainage`,
      );
  }
  const [first, last] = [points[0], points.at(-1)];
  if (first && last && daysBetween(first.date, last.date) > LONGEST_DAYS) {
    const detail = `${last.date} lies more than 30 years after ${first.date}, where the programme begins`;
    faults.push({ in: 'body', pointer: `/points/${points.length - 1}/date`, value: last.date, detail });
  }
  if (faults.length > 0) throw faulty('invalid', faults);
  return points.map(({ date }, index) => ({ day: date, m: metresText(place[index] as number) }));
};

import { readRows, type Statements } from '../../../common/database/database.js';
import { type StrokeFlag, StrokeFlagKind } from './stroke-performance.models.js';

const FLAGS = `select stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, flag, measured,
  limit_value as limit, unit from stroke_flag where drive_id = $1 order by stroke_number, flag`;

type Row = Omit<StrokeFlag, 'detail'>;

/** A figure for people: three decimals at the most. */
const figure = (value: number): string => String(Number(value.toFixed(3)));

const inWords = ({ number, flag, measured, limit, unit }: Row): string => {
  const [is, allowed] = [`${figure(measured)} ${unit}`, `${figure(limit)} ${unit}`];
  const stroke = `stroke ${number}`;
  switch (flag) {
    case StrokeFlagKind.thrust_per_disc_above_rating:
      return `${stroke}: ${is} a disc, above its rated load of ${allowed}; a mean over the head, gauge and centre discs may be above it`;
    case StrokeFlagKind.torque_above_rating:
      return `${stroke}: torque ${is} exceeds the limit of ${allowed}`;
    case StrokeFlagKind.power_above_installed:
      return `${stroke}: torque and rotation make ${is}, above the installed ${allowed}`;
    case StrokeFlagKind.thrust_above_rating:
      return `${stroke}: thrust ${is} exceeds the limit of ${allowed}`;
    case StrokeFlagKind.stroke_longer_than_machine:
      return `${stroke}: ${is} long, longer than a full stroke of ${allowed}`;
    case StrokeFlagKind.thrust_too_low:
      return `${stroke}: thrust ${is} is below the minimum of ${allowed} for boring`;
    case StrokeFlagKind.torque_too_low:
      return `${stroke}: torque ${is} is below the minimum of ${allowed} for boring`;
    case StrokeFlagKind.rate_too_high:
      return `${stroke}: bored at ${is}, faster than ${allowed}`;
    case StrokeFlagKind.rate_too_low:
      return `${stroke}: bored at ${is}, slower than ${allowed}`;
    case StrokeFlagKind.rates_differ:
      return `${stroke}: penetration and rotation make ${is}, ${measured > limit ? 'above' : 'below'} the ${allowed} that length and boring time allow`;
  }
};

/** What the strokes of a drive are flagged for, with each flag in words. */
export const flagsOfDrive = async (statements: Statements, driveId: number): Promise<StrokeFlag[]> =>
  (await readRows<Row>(statements, FLAGS, driveId)).map((row) => ({ ...row, detail: inWords(row) }));

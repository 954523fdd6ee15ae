import { readJson, type Statements } from '../../../common/database/database.js';
import type { JsonRows } from '../../../common/database/json-rows.js';
import { type StrokeFlag, StrokeFlagKind } from './stroke-performance.models.js';

/** Texts of the flags, for PostgreSQL's format(): 1 the figure and 2 the limit, with units; 3 on which side of the limit the figure lies. */
const WORDS: Record<StrokeFlagKind, string> = {
  [StrokeFlagKind.thrust_per_disc_above_rating]:
    '%1$s a disc, above its rated load of %2$s; a mean over the head, gauge and centre discs may be above it',
  [StrokeFlagKind.torque_above_rating]: 'torque %1$s exceeds the limit of %2$s',
  [StrokeFlagKind.power_above_installed]: 'torque and rotation make %1$s, above the installed %2$s',
  [StrokeFlagKind.thrust_above_rating]: 'thrust %1$s exceeds the limit of %2$s',
  [StrokeFlagKind.stroke_longer_than_machine]: '%1$s long, longer than a full stroke of %2$s',
  [StrokeFlagKind.thrust_too_low]: 'thrust %1$s is below the minimum of %2$s for boring',
  [StrokeFlagKind.torque_too_low]: 'torque %1$s is below the minimum of %2$s for boring',
  [StrokeFlagKind.rate_too_high]: 'bored at %1$s, faster than %2$s',
  [StrokeFlagKind.rate_too_low]: 'bored at %1$s, slower than %2$s',
  [StrokeFlagKind.rates_differ]:
    'penetration and rotation make %1$s, %3$s the %2$s that length and boring time allow',
};

/** A figure for display, with its unit and at most three decimals. */
const figure = (column: string): string => `trim_scale(round(${column}::text::numeric, 3)) || ' ' || unit`;

const IN_WORDS = `'stroke ' || stroke_number || ': ' || format(case flag ${Object.entries(WORDS)
  .map(([flag, words]) => `when '${flag}' then '${words}'`)
  .join(
    ' ',
  )} end, ${figure('measured')}, ${figure('limit_value')}, case when measured > limit_value then 'above' else 'below' end)`;

const FLAGS = `select stroke_number as number, chainage_text(from_chainage_m) as from, chainage_text(to_chainage_m) as to, flag, measured,
  limit_value as limit, unit, ${IN_WORDS} as detail from stroke_flag where drive_id = $1 order by stroke_number, flag`;

/** The flags of the strokes of a drive, with their texts: formatted by PostgreSQL, as a long drive may have tens of thousands. */
export const flagsOfDrive = (statements: Statements, driveId: number): Promise<JsonRows<StrokeFlag>> =>
  readJson<StrokeFlag>(statements, FLAGS, driveId);

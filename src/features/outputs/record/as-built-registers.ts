import { readRows, type Statements } from '../../../common/database/database.js';
import { ATTACHMENT_COLUMNS } from '../attachments/attachments.service.js';
import { DECISION, tagged, type UntaggedDecision } from '../../ground/classes/standing-decision.js';
import { DISCONTINUITY_COLUMNS } from '../../ground/discontinuities/discontinuities.service.js';
import { GROUND_LOG_COLUMNS } from '../../ground/ground-logs/ground-log-sql.js';
import { withTableNotes } from '../../ground/ground-logs/table-notes.js';
import type { JudgementKeeper } from '../../support/missing-support/judgement-keeper.service.js';
import { readHead, readMissing } from '../../support/missing-support/missing-support.service.js';
import { OVERBREAK_COLUMNS } from '../../ground/overbreak/overbreak.service.js';
import { PROBE_HOLE_COLUMNS } from '../../ahead/probing/probing.service.js';
import type { AsBuilt } from './as-built.models.js';

/** What the shifts reported of an interval. */
export type AsBuiltShifts = Pick<AsBuilt, 'strokes' | 'ground' | 'support'>;

/** What the other registers of a drive hold of it. */
type Registers = Omit<AsBuilt, keyof AsBuiltShifts | 'from' | 'to' | 'caution'>;

/** An interval of a drive: its chainages from and to, and the driven metres from low to high. [m] */
interface Interval {
  driveId: number;
  drive: string;
  from: string;
  to: string;
  lowM: string;
  highM: string;
}

/** The rows of a register that touch [$2, $3). */
const touching = (columns: string, view: string): string =>
  `select ${columns} from ${view} where drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric order by from_m`;

const DECISIONS = `${touching(DECISION, 'class_decision_register')}, number`;
const LOGS = `${touching(GROUND_LOG_COLUMNS, 'ground_log')}, name`;
const OVERBREAK = `${touching(OVERBREAK_COLUMNS, 'overbreak')}, name`;

const DISCONTINUITIES = `select ${DISCONTINUITY_COLUMNS} from discontinuity_row
  where drive_id = $1 and at_m >= $2::numeric and at_m < $3::numeric order by at_m, name`;

const HOLES = `select ${PROBE_HOLE_COLUMNS} from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id
  where h.drive_id = $1 and h.collar_m < $3::numeric and (h.collar_m + h.axial_reach_m > $2::numeric or h.collar_m >= $2::numeric)
  order by h.collar_m, h.name`;

/** $4: what the interval has that a file may belong to, as kind/name. */
const ATTACHMENTS = `select ${ATTACHMENT_COLUMNS} from attachment where drive_id = $1 and (
    (from_m < $3::numeric and (to_m > $2::numeric or from_m >= $2::numeric))
    or subject_kind || '/' || subject_name = any($4)
    or (from_m is null and subject_kind is null and 'shift/' || shift_date || '/' || shift_name = any($4)))
  order by number`;

/** The kind and name of each record that a file may belong to. */
const owners = (
  { strokes, ground, support }: AsBuiltShifts,
  { groundLogs, probeHoles }: Pick<Registers, 'groundLogs' | 'probeHoles'>,
): string[] => [
  ...groundLogs.map(({ name }) => `ground_log/${name}`),
  ...probeHoles.map(({ name }) => `probe_hole/${name}`),
  ...strokes.map(({ number }) => `stroke/${number}`),
  ...new Set(
    [...strokes.flatMap(({ shifts }) => shifts), ...ground, ...support].map(
      ({ date, shift }) => `shift/${date}/${shift}`,
    ),
  ),
];

/** What each register holds of an interval: one statement a register, whatever its length, in two messages. */
export const readRegisters = async (
  statements: Statements,
  keeper: JudgementKeeper,
  { driveId, drive, from, to, lowM, highM }: Interval,
  reported: Promise<AsBuiltShifts>,
): Promise<AsBuiltShifts & Registers> => {
  const rows = <T>(sql: string, ...more: unknown[]): Promise<T[]> =>
    readRows<T>(statements, sql, driveId, lowM, highM, ...more);
  const [shifts, { isKept }, decisions, logs, probeHoles, discontinuities, overbreak] = await Promise.all([
    reported,
    readHead(statements, driveId),
    rows<UntaggedDecision>(DECISIONS),
    rows<AsBuilt['groundLogs'][number]>(LOGS),
    rows<AsBuilt['probeHoles'][number]>(HOLES),
    rows<AsBuilt['discontinuities'][number]>(DISCONTINUITIES),
    rows<AsBuilt['overbreak'][number]>(OVERBREAK),
  ]);
  const groundLogs = logs.map(withTableNotes);
  const [required, attachments] = await Promise.all([
    keeper.over(driveId, isKept, (judged) =>
      readMissing(statements, drive, { from, to, lengthM: null }, judged),
    ),
    rows<AsBuilt['attachments'][number]>(ATTACHMENTS, owners(shifts, { groundLogs, probeHoles })),
  ]);
  return {
    ...shifts,
    supportRequired: required.rows(),
    classDecisions: decisions.map(tagged),
    groundLogs,
    discontinuities,
    overbreak,
    probeHoles,
    attachments,
  };
};

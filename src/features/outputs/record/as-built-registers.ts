import { readRows, type Statements } from '../../../common/database/database.js';
import { type Columns, type Query, type Reading, sql } from '../../../common/database/reading.js';
import { ATTACHMENT_COLUMNS } from '../attachments/attachments.service.js';
import { DECISION, tagged } from '../../ground/classes/standing-decision.js';
import { DISCONTINUITY_COLUMNS } from '../../ground/discontinuities/discontinuities.service.js';
import { GROUND_LOG_COLUMNS } from '../../ground/ground-logs/ground-log-sql.js';
import { withTableNotes } from '../../ground/ground-logs/table-notes.js';
import type { OverJudgement } from '../../support/missing-support/judgement-keeper.service.js';
import { readHead, readMissing } from '../../support/missing-support/missing-support.service.js';
import { OVERBREAK_COLUMNS } from '../../ground/overbreak/overbreak.service.js';
import { HOLD_POINT_CAUTION } from '../../ahead/hold-points/hold-point.models.js';
import { HOLD_POINT_COLUMNS } from '../../ahead/hold-points/hold-points.service.js';
import { ENCOUNTER_COLUMNS } from '../../ahead/indications/encounters.service.js';
import { INVESTIGATION_COLUMNS } from '../../ahead/indications/investigations.service.js';
import { INDICATION_OUTCOME_COLUMNS } from '../../ahead/indications/outcomes.service.js';
import { PROBE_HOLE_COLUMNS } from '../../ahead/probing/probing.service.js';
import { INFLOW_COLUMNS } from '../../ahead/water/inflow.service.js';
import { WATER_TEST_CAUTION } from '../../ahead/water/water-tests.models.js';
import { WATER_TEST_COLUMNS } from '../../ahead/water/water-tests.service.js';
import type { AsBuilt } from './as-built.models.js';

/** What the shifts reported for an interval. */
export type AsBuiltShifts = Pick<AsBuilt, 'strokes' | 'ground' | 'support'>;

/** What the other registers of a drive contain for it. */
type Registers = Omit<AsBuilt, keyof AsBuiltShifts | 'from' | 'to' | 'caution'>;

/** An interval of a drive: chainages `from` and `to`, and driven metres `low` and `high`. [m] */
interface Interval {
  driveId: number;
  drive: string;
  from: string;
  to: string;
  lowM: string;
  highM: string;
}

/** The rows of a register that touch [$2, $3). */
const touching = <T>(columns: Columns<T>, view: string, then = 'name'): Reading<T> =>
  sql`select ${columns} from ${view} where drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric order by from_m, ${then}`;

const DECISIONS = sql`select ${DECISION} from class_decision_register where drive_id = $1 and to_m > $2::numeric and from_m < $3::numeric order by from_m, number`;
const LOGS = touching(GROUND_LOG_COLUMNS, 'ground_log');
const OVERBREAK = touching(OVERBREAK_COLUMNS, 'overbreak');

const DISCONTINUITIES = sql`select ${DISCONTINUITY_COLUMNS} from discontinuity_row
  where drive_id = $1 and at_m >= $2::numeric and at_m < $3::numeric order by at_m, name`;

const HOLES = sql`select ${PROBE_HOLE_COLUMNS} from probe_hole h join probe_hole_reading r on r.probe_hole_id = h.id
  where h.drive_id = $1 and h.collar_m < $3::numeric and (h.collar_m + h.axial_reach_m > $2::numeric or h.collar_m >= $2::numeric)
  order by h.collar_m, h.name`;

/** Condition for rows that touch [$2, $3), including those at a single place. */
const METRES = 'drive_id = $1 and (to_m > $2::numeric or from_m >= $2::numeric) and from_m < $3::numeric';

const INVESTIGATIONS = sql`select ${INVESTIGATION_COLUMNS} from investigation v
  where v.made_at <= (select moment_asked()) and ${METRES} order by v.from_m, v.name`;
const INDICATIONS = sql`select ${INDICATION_OUTCOME_COLUMNS} from indication_outcome where ${METRES} order by from_m, investigation, key`;
const ENCOUNTERS = sql`select ${ENCOUNTER_COLUMNS} from encounter where met_at <= (select moment_asked()) and ${METRES} order by from_m, name`;
const HOLD_POINTS = sql`select ${HOLD_POINT_COLUMNS} from hold_point_register h
  where drive_id = $1 and at_m >= $2::numeric and at_m < $3::numeric order by at_m, code`;

const INFLOW = touching(INFLOW_COLUMNS, 'inflow');

/** At the collar of its hole, or its own where it names no probe hole. */
const WATER_TESTS = sql`select ${WATER_TEST_COLUMNS} from water_test t where drive_id = $1 and water_test_id in (
    select l.id from lugeon_test l left join probe_hole h on h.drive_id = l.drive_id and h.name = l.hole
    where l.drive_id = $1 and coalesce(l.collar_m, h.collar_m) >= $2::numeric and coalesce(l.collar_m, h.collar_m) < $3::numeric)
  order by tested_at, name`;

/** $4: the records of the interval to which a file may belong, as kind/name. */
const ATTACHMENTS = sql`select ${ATTACHMENT_COLUMNS} from attachment where drive_id = $1 and (
    (from_m < $3::numeric and (to_m > $2::numeric or from_m >= $2::numeric))
    or subject_kind || '/' || subject_name = any($4)
    or (from_m is null and subject_kind is null and 'shift/' || shift_date || '/' || shift_name = any($4)))
  order by number`;

/** The kind and name of each record to which a file may belong. */
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

/** The contents of each register in an interval: one statement per register, whatever the length, in two messages. */
export const readRegisters = async (
  statements: Statements,
  keeper: { over: OverJudgement },
  { driveId, drive, from, to, lowM, highM }: Interval,
  reported: Promise<AsBuiltShifts>,
): Promise<AsBuiltShifts & Registers> => {
  const rows = <T>(reading: Query<T>, ...more: unknown[]): Promise<T[]> =>
    readRows(statements, reading, driveId, lowM, highM, ...more);
  const [shifts, { judged }, decisions, logs, probeHoles, discontinuities, overbreak, ahead] =
    await Promise.all([
      reported,
      readHead(statements, driveId),
      rows(DECISIONS),
      rows(LOGS),
      rows(HOLES),
      rows(DISCONTINUITIES),
      rows(OVERBREAK),
      readAhead(rows),
    ]);
  const groundLogs = logs.map(withTableNotes);
  const [required, attachments] = await Promise.all([
    keeper.over(driveId, judged, (source) =>
      readMissing(statements, drive, { from, to, lengthM: null }, source),
    ),
    rows(ATTACHMENTS, owners(shifts, { groundLogs, probeHoles })),
  ]);
  return {
    ...shifts,
    supportRequired: required.rows(),
    classDecisions: decisions.map(tagged),
    groundLogs,
    discontinuities,
    overbreak,
    probeHoles,
    ...ahead,
    attachments,
  };
};

/** Investigations ahead of the face, and their outcomes. */
const readAhead = async (
  rows: <T>(reading: Query<T>) => Promise<T[]>,
): Promise<
  Pick<Registers, 'investigations' | 'indications' | 'encounters' | 'holdPoints' | 'inflow' | 'waterTests'>
> => {
  const [investigations, indications, encounters, holdPoints, inflow, waterTests] = await Promise.all([
    rows(INVESTIGATIONS),
    rows(INDICATIONS),
    rows(ENCOUNTERS),
    rows(HOLD_POINTS),
    rows(INFLOW),
    rows(WATER_TESTS),
  ]);
  return {
    ...{ investigations, indications, encounters, inflow },
    holdPoints: holdPoints.map((point) => ({ ...point, caution: HOLD_POINT_CAUTION })),
    waterTests: waterTests.map((test) => ({ ...test, caution: WATER_TEST_CAUTION })),
  };
};

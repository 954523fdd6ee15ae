import { Injectable } from '@nestjs/common';
import { type Fault, faulty } from '../../../common/api/problem.js';
import { Database, type Statements } from '../../../common/database/database.js';
import { DriveReader, lockedDriveId } from '../../../common/database/drive-reader.service.js';
import type { MachineSample } from '../../../engineering/sample-means.js';
import {
  type SegmentationThresholds,
  thresholdFaults,
  USUAL_THRESHOLDS,
} from '../../../engineering/segmentation-thresholds.js';
import { digestOf, findingsOf } from './proposal-findings.js';
import type { StrokeProposal, StrokeProposalHead, StrokeProposalInput } from './proposal.models.js';
import { readHeads, readProposal } from './read-proposal.js';
import { LONGEST_SPAN_D } from './sample-limits.js';
import { readInOrder, retiredIn } from './samples.service.js';
import type { Thresholds } from './thresholds.model.js';

/** Samples read at a time. */
const PIECE = 5000;

const SAMPLES = `select (extract(epoch from at) * 1000)::float8 as "atMs", (position_m * 1000)::int as "positionMm", thrust_kn as "thrustKn",
  torque_knm as "torqueKnm", rotation_rpm as "rotationRpm", penetration_rate_mm_per_min as "penetrationRateMmPerMin",
  gripper_pressure_bar as "gripperPressureBar", muck_flow_t_per_h as "muckFlowTPerH"
  from machine_sample where drive_id = $1 and at >= $2::timestamptz and at < $3::timestamptz order by at limit ${PIECE}`;

const KEEP = `insert into stroke_proposal (drive_id, number, from_at, to_at, sample_count, thresholds, borings, regrips, remarks, digest)
  select $1, (select coalesce(max(number), 0) + 1 from stroke_proposal where drive_id = $1), r.* , $3
  from jsonb_to_record($2::jsonb) as r("from" timestamptz, "to" timestamptz, "sampleCount" int, thresholds jsonb, borings jsonb, regrips jsonb, remarks jsonb)
  returning number`;

const DAY_MS = 86_400_000;

/** The samples of a span, some thousands at a time. */
async function* piecesOf(
  statements: Statements,
  driveId: number,
  from: string,
  to: string,
): AsyncGenerator<MachineSample[]> {
  await readInOrder(statements);
  for (let next = from; ;) {
    const piece = await statements.$queryRawUnsafe<MachineSample[]>(SAMPLES, driveId, next, to);
    if (piece.length > 0) yield piece;
    const last = piece.at(-1);
    if (!last || piece.length < PIECE) return;
    next = new Date(last.atMs + 1).toISOString(); // samples have millisecond resolution
  }
}

/** The thresholds to use, with defaults. @throws ProblemError invalid when two conflict */
const completed = (given: Thresholds = {}): SegmentationThresholds => {
  const thresholds = { ...USUAL_THRESHOLDS };
  for (const name of Object.keys(thresholds) as (keyof SegmentationThresholds)[])
    thresholds[name] = given[name] ?? thresholds[name];
  const faults = thresholdFaults(thresholds).map(({ field, detail }): Fault => ({
    in: 'body',
    pointer: `/thresholds/${field}`,
    value: thresholds[field],
    detail,
  }));
  if (faults.length > 0) throw faulty('invalid', faults);
  return thresholds;
};

const assertSpan = ({ from, to }: StrokeProposalInput): void => {
  if (Date.parse(to) - Date.parse(from) <= LONGEST_SPAN_D * DAY_MS) return;
  const detail = `the span from ${from} to ${to} is longer than ${LONGEST_SPAN_D} days`;
  throw faulty('invalid', [{ in: 'body', pointer: '/to', value: to, detail }]);
};

/** Proposes strokes from the machine samples of a time span. */
@Injectable()
export class ProposalsService {
  constructor(
    private readonly database: Database,
    private readonly drives: DriveReader,
  ) {}

  list(drive: string): Promise<StrokeProposalHead[]> {
    return this.drives.reading(drive, (driveId, statements) => readHeads(statements, driveId));
  }

  get(drive: string, number: number): Promise<StrokeProposal> {
    return this.drives.reading(drive, (driveId, statements) =>
      readProposal(statements, driveId, drive, number),
    );
  }

  /** @throws ProblemError invalid for a span without samples, or too long; not_found for the drive */
  async propose(drive: string, input: StrokeProposalInput): Promise<StrokeProposal> {
    const { from, to } = input;
    assertSpan(input);
    const thresholds = completed(input.thresholds);
    const findings = await this.drives.reading(drive, async (driveId, statements) => {
      const retired = await retiredIn(statements, from, to);
      if (retired !== undefined) {
        const detail = `the span from ${from} to ${to} overlaps ${retired}, whose machine samples are retired`;
        throw faulty('invalid', [{ in: 'body', pointer: '/from', value: from, detail }]);
      }
      return findingsOf(piecesOf(statements, driveId, from, to), thresholds);
    });
    if (findings.sampleCount === 0) {
      const detail = `the drive has no machine samples from ${from} to before ${to}`;
      throw faulty('invalid', [{ in: 'body', pointer: '/from', value: from, detail }]);
    }
    const content = { from, to, thresholds, ...findings };
    return this.get(drive, await this.keep(drive, content));
  }

  /** @returns the number of the proposal */
  private keep(drive: string, content: object): Promise<number> {
    return this.database.atomic(async (transaction) => {
      const driveId = await lockedDriveId(transaction, drive);
      const [kept] = await transaction.$queryRawUnsafe<{ number: number }[]>(
        KEEP,
        driveId,
        JSON.stringify(content),
        digestOf(content),
      );
      if (!kept) throw new Error('the proposal was not written');
      return kept.number;
    });
  }
}

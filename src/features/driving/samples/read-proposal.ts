import { notFound } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { columnsOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { etagOf } from './proposal-findings.js';
import {
  type MetBoring,
  type PostedBoring,
  PROPOSAL_CAUTION,
  type ProposedBoring,
  type StrokeProposal,
  StrokeProposalHead,
} from './proposal.models.js';

const HEAD = `q.number, q.from_at as from, q.to_at as to, q.sample_count as "sampleCount",
  coalesce((q.borings -> -1 ->> 'stroke')::int, 0) as "strokeCount", jsonb_array_length(q.borings) as "boringCount",
  q.proposed_by as "proposedBy", q.proposed_at as "proposedAt", q.accepted_by as "acceptedBy", q.accepted_at as "acceptedAt"`;

const HEADS_COLUMNS = columnsOf(StrokeProposalHead, 'q', {
  from: 'from_at',
  to: 'to_at',
  strokeCount: `coalesce((q.borings -> -1 ->> 'stroke')::int, 0)`,
  boringCount: 'jsonb_array_length(q.borings)',
});

const HEADS = sql`select ${HEADS_COLUMNS} from stroke_proposal q where q.drive_id = $1 order by q.number desc limit 1000`;

const CHAINAGE = `chainage_text(chainage_of_driven(d.start_chainage_m, d.direction, r."positionM"))`;

const WHOLE = `select ${HEAD}, q.digest, q.thresholds,
  (select coalesce(json_agg(json_build_object('startedAt', r."startedAt", 'endedAt', r."endedAt", 'chainage', ${CHAINAGE}) order by r."startedAt"), '[]')
    from jsonb_to_recordset(q.regrips) as r("startedAt" timestamptz, "endedAt" timestamptz, "positionM" numeric)) as regrips,
  (select coalesce(json_agg(json_build_object('what', r.what, 'at', r.at, 'chainage', ${CHAINAGE}, 'lengthMm', r."lengthMm", 'durationS', r."durationS",
      'sampleCount', r."sampleCount")), '[]')
    from jsonb_to_recordset(q.remarks) as r(what text, at timestamptz, "positionM" numeric, "lengthMm" int, "durationS" float8, "sampleCount" int)) as remarks
  from stroke_proposal q join drive d on d.id = q.drive_id where q.drive_id = $1 and q.number = $2`;

const at = (column: string): string =>
  `chainage_text(chainage_of_driven(d.start_chainage_m, d.direction, c.${column}))`;

const COMPARED = `select c.proposed_stroke as stroke, ${at('from_m')} as from, ${at('to_m')} as to, (c.to_m - c.from_m)::text as "lengthM",
  c.started_at as "startedAt", c.ended_at as "endedAt", c.sample_count as "sampleCount", c.thrust_kn as "thrustKn", c.torque_knm as "torqueKnm",
  c.rotation_rpm as "rotationRpm", c.penetration_rate_mm_per_min as "penetrationRateMmPerMin", c.penetration_mm_per_rev as "penetrationMmPerRev",
  c.gripper_pressure_bar as "gripperPressureBar", c.muck_mass_t::text as "muckMassT",
  case when c.stroke_number is not null then json_build_object('number', c.stroke_number, 'date', c.shift_date, 'shift', c.shift_name,
    'from', ${at('posted_from_m')}, 'to', ${at('posted_to_m')}, 'startedAt', c.posted_started_at, 'endedAt', c.posted_ended_at,
    'metCount', c.met_count, 'fromDifferenceMm', c.from_difference_mm, 'toDifferenceMm', c.to_difference_mm,
    'startDifferenceMin', c.start_difference_min::text, 'endDifferenceMin', c.end_difference_min::text) end as posted
  from drive d cross join stroke_proposal_compared($2, d.code, $3) c where d.id = $1 order by c.place nulls last, c.posted_from_m`;

/** A row of the comparison: without a stroke, it is a posted boring that no proposed one meets. */
type Compared = (ProposedBoring & { stroke: number }) | { stroke: null; posted: MetBoring };

type Whole = Omit<StrokeProposal, 'etag' | 'borings' | 'postedOnly' | 'caution'> & { digest: string };

const justPosted = ({ number, date, shift, from, to, startedAt, endedAt }: MetBoring): PostedBoring => ({
  number,
  date,
  shift,
  from,
  to,
  startedAt,
  endedAt,
});

export const readHeads = (statements: Statements, driveId: number): Promise<StrokeProposalHead[]> =>
  readRows(statements, HEADS, driveId);

/** A proposal beside what was posted. @throws ProblemError not_found naming it */
export const readProposal = async (
  statements: Statements,
  driveId: number,
  drive: string,
  number: number,
): Promise<StrokeProposal> => {
  const [whole] = await readRows<Whole>(statements, WHOLE, driveId, number);
  if (!whole) throw notFound(`stroke proposal ${number} in drive ${drive}`);
  const { digest, ...head } = whole;
  const rows = await readRows<Compared>(statements, COMPARED, driveId, scope().project, number);
  return {
    ...head,
    etag: etagOf(digest, head.acceptedAt),
    borings: rows.flatMap((row) => (row.stroke === null ? [] : [row])),
    postedOnly: rows.flatMap((row) => (row.stroke === null ? [justPosted(row.posted)] : [])),
    caution: PROPOSAL_CAUTION,
  };
};

import { notFound } from '../../../common/api/problem.js';
import { readRows, type Statements } from '../../../common/database/database.js';
import { columnsOf, extra, objectOf, sql } from '../../../common/database/reading.js';
import { scope } from '../../../common/database/scope.js';
import { etagOf } from './proposal-findings.js';
import {
  MetBoring,
  type PostedBoring,
  PROPOSAL_CAUTION,
  ProposalRemark,
  ProposedBoring,
  ProposedRegrip,
  StrokeProposal,
  StrokeProposalHead,
} from './proposal.models.js';

const HEAD = {
  from: 'from_at',
  to: 'to_at',
  strokeCount: `coalesce((q.borings -> -1 ->> 'stroke')::int, 0)`,
  boringCount: 'jsonb_array_length(q.borings)',
} as const;

const HEADS = sql`select ${columnsOf(StrokeProposalHead, 'q', HEAD)} from stroke_proposal q where q.drive_id = $1 order by q.number desc limit 1000`;

/** Findings are stored as JSON under the names of their properties. */
const found = (property: string): string => `r."${property}"`;

const chainage = (metres: string): string => `chainage_of_driven(d.start_chainage_m, d.direction, ${metres})`;

const SPAN = { startedAt: found('startedAt'), endedAt: found('endedAt') };

const REGRIP = columnsOf(ProposedRegrip, 'r', { ...SPAN, chainage: chainage(found('positionM')) });

const REMARK = columnsOf(ProposalRemark, 'r', {
  chainage: chainage(found('positionM')),
  lengthMm: found('lengthMm'),
  durationS: found('durationS'),
  sampleCount: found('sampleCount'),
});

const WHOLE_COLUMNS = columnsOf(StrokeProposal, 'q', {
  ...HEAD,
  etag: false,
  borings: false,
  postedOnly: false,
  caution: false,
  regrips: {
    as: `(select coalesce(json_agg(${objectOf(REGRIP)} order by r."startedAt"), '[]')
      from jsonb_to_recordset(q.regrips) as r("startedAt" timestamptz, "endedAt" timestamptz, "positionM" numeric))`,
  },
  remarks: {
    as: `(select coalesce(json_agg(${objectOf(REMARK)}), '[]')
      from jsonb_to_recordset(q.remarks) as r(what text, at timestamptz, "positionM" numeric, "lengthMm" int, "durationS" float8, "sampleCount" int))`,
  },
});

const WHOLE = sql`select ${WHOLE_COLUMNS}, ${extra<{ digest: string }>({ digest: 'q.digest' })}
  from stroke_proposal q join drive d on d.id = q.drive_id where q.drive_id = $1 and q.number = $2`;

const MET = columnsOf(MetBoring, 'c', {
  number: 'stroke_number',
  date: 'shift_date',
  shift: 'shift_name',
  from: chainage('c.posted_from_m'),
  to: chainage('c.posted_to_m'),
  startedAt: 'posted_started_at',
  endedAt: 'posted_ended_at',
});

const BORING = columnsOf(ProposedBoring, 'c', {
  stroke: 'proposed_stroke',
  from: chainage('c.from_m'),
  to: chainage('c.to_m'),
  lengthM: 'c.to_m - c.from_m',
  posted: { as: `case when c.stroke_number is not null then ${objectOf(MET)} end` },
});

const COMPARED = sql`select ${BORING} from drive d cross join stroke_proposal_compared($2, d.code, $3) c where d.id = $1 order by c.place nulls last, c.posted_from_m`;

/** A row of the comparison: without a stroke, it is a posted boring that no proposed one overlaps. */
type Compared = (ProposedBoring & { stroke: number }) | { stroke: null; posted: MetBoring };

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

/** A proposal compared with the posted borings. @throws ProblemError not_found naming it */
export const readProposal = async (
  statements: Statements,
  driveId: number,
  drive: string,
  number: number,
): Promise<StrokeProposal> => {
  const [whole] = await readRows(statements, WHOLE, driveId, number);
  if (!whole) throw notFound(`stroke proposal ${number} in drive ${drive}`);
  const { digest, ...head } = whole;
  const rows: readonly Compared[] = await readRows(statements, COMPARED, driveId, scope().project, number);
  return {
    ...head,
    etag: etagOf(digest, head.acceptedAt),
    borings: rows.flatMap((row) => (row.stroke === null ? [] : [row])),
    postedOnly: rows.flatMap((row) => (row.stroke === null ? [justPosted(row.posted)] : [])),
    caution: PROPOSAL_CAUTION,
  };
};

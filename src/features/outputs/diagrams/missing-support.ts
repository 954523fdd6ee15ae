import type { Box, Series } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { unitInWords } from '../../../common/words.js';
import { roundStep } from '../../../engineering/axis-ticks.js';
import { chainageEnds, type Diagram, short } from './diagram.js';

interface Row {
  item: string | null;
  description: string | null;
  unit: string | null;
  zone: string | null;
  part: string;
  fromChainageM: number;
  toChainageM: number;
  missing: number;
  /** missing part of the required quantity: due, or not yet due */
  share: number | null;
  /** total missing of the item in the whole part of the drive */
  total: string;
}

const MISSING = `select m.item_code as item, m.description, m.unit, m.zone, m.part, m.from_chainage_m::float8 as "fromChainageM",
  m.to_chainage_m::float8 as "toChainageM", m.missing::float8 as missing, (m.missing_local / nullif(m.required, 0))::float8 as share,
  (sum(m.missing) over (partition by m.item_code, m.zone))::text as total
  from missing_support_between($1, $2, $3::numeric, $4::numeric, $5::numeric) m
  where m.part = 'not_assessed' or (m.part <> 'ahead_of_face' and m.required > 0)
  order by m.item_code nulls last, m.zone, m.from_m`;

/** Most intervals across the drawing. */
const MOST_INTERVALS = 200;
const LEAST_INTERVAL_M = 10;

/** More lanes would be too low to read. */
const MOST_LANES = 24;
const LANE = 0.84;

const laneKey = ({ item, zone }: Row): string => (item === null ? '' : `${item} ${zone ?? ''}`);

/** A box whose height in its lane is the missing share, however small. */
const boxOf = ({ fromChainageM, toChainageM, share }: Row, lane: number): Box => {
  const high = LANE * Math.min(1, Math.max(share ?? 1, 0.1));
  return { fromX: fromChainageM, toX: toChainageM, fromY: lane + LANE / 2 - high, toY: lane + LANE / 2 };
};

const CAUTION =
  'Decision support: it compares what the record holds, which may be late or incomplete, with what is required per metre. The project’s designer, the responsible engineer on site and the local code decide, by inspection.';

export const MISSING_SUPPORT: Diagram = {
  name: 'missing-support',
  title: 'Missing support along the drive',
  about:
    'Where support that is required is missing, by item and zone: due, not yet due, and length that is not assessed',
  extent: 'chainage',
  takes: [],
  views: ['missing_support_between'],
  show: async ({ statements, project, drive, window }) => {
    const ends = chainageEnds(window);
    const intervalM = Math.max(LEAST_INTERVAL_M, roundStep(ends.to - ends.from, MOST_INTERVALS));
    const rows = await readRows<Row>(
      statements,
      MISSING,
      project,
      drive,
      window.fromChainageM,
      window.toChainageM,
      String(intervalM),
    );
    const period = `${window.from} to ${window.to}, by ${intervalM} m`;
    if (rows.length === 0)
      return {
        period,
        panels: [],
        notes: [CAUTION],
        empty: 'No support is required in the part that is driven, and all of it is assessed.',
      };
    const all = [...new Map(rows.map((row) => [laneKey(row), row]))];
    const lanes = all.slice(0, MOST_LANES);
    const place = new Map(lanes.map(([key], lane) => [key, lane]));
    const boxes = (holds: (row: Row) => boolean): Box[] =>
      rows.flatMap((row) => {
        const lane = place.get(laneKey(row));
        return lane !== undefined && holds(row) ? [boxOf(row, lane)] : [];
      });
    const series: Series[] = [
      {
        kind: 'boxes',
        name: 'missing, due',
        look: 5,
        boxes: boxes(({ part, missing }) => part === 'due' && missing > 0),
      },
      {
        kind: 'boxes',
        name: 'missing, not yet due',
        look: 3,
        boxes: boxes(({ part, share }) => part === 'not_yet_due' && (share ?? 0) > 0),
      },
      { kind: 'boxes', name: 'not assessed', look: 7, boxes: boxes(({ part }) => part === 'not_assessed') },
    ];
    return {
      period: `${period}${all.length > lanes.length ? `; the first ${lanes.length} of ${all.length} items and zones` : ''}`,
      notes: [
        'Height of a bar in its lane: the part of what is required that is missing, and never less than a tenth of the lane. Beside the item: missing and due.',
        CAUTION,
      ],
      panels: [
        {
          height: { share: 1 },
          x: { kind: 'chainage', label: 'chainage [km + m]', ...ends },
          y: {
            kind: 'lanes',
            label: '',
            from: -0.5,
            to: Math.max(lanes.length, 4) - 0.5,
            lanes: lanes.map(([key, { item, total, unit }]) =>
              item === null ? 'not assessed' : `${key}: ${short(total)} ${unitInWords(unit ?? '')}`,
            ),
          },
          series,
        },
      ],
    };
  },
};

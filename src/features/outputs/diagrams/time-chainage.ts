import type { Line, Point, Series } from '../../../common/charts/chart.js';
import { readRows } from '../../../common/database/database.js';
import { daysInWords, type Diagram, chainageEnds, type Reading, short, timeOf } from './diagram.js';
import { type GroundPiece, groundStrip } from './ground-strip.js';

interface Day {
  day: string;
  begins: string;
  ends: string;
  fromM: number | null;
  faceM: number | null;
}

interface PlannedDay {
  programme: string;
  at: string;
  atM: number;
}

interface Stop {
  code: string;
  at: string;
  until: string;
  hours: string;
  atM: number;
}

interface Ground extends GroundPiece {
  baseline: string | null;
}

/** More lines could not be distinguished. */
const MOST_PROGRAMMES = 4;
const MOST_STOPS = 8;

const WITHIN = `>= coalesce($2::date, '-infinity')`;

/** The end of a production day, in the project's local time. */
const endOf = (day: string): string =>
  `to_char(timezone(p.time_zone, production_day_start((${day} + 1)::date, p.time_zone, p.day_start)), 'YYYY-MM-DD"T"HH24:MI:SS')`;
const PLACE = 'join drive d on d.id = v.drive_id join project p on p.id = d.project_id';
const clock = (moment: string): string =>
  `to_char(timezone(p.time_zone, ${moment}), 'YYYY-MM-DD"T"HH24:MI:SS')`;

const DAYS = `select v.production_day as day, ${endOf('v.production_day - 1')} as begins, ${endOf('v.production_day')} as ends,
  v.from_chainage_m::float8 as "fromM", v.face_chainage_m::float8 as "faceM"
  from day_advance v ${PLACE} where v.drive_id = $1 and v.production_day ${WITHIN} and v.production_day <= coalesce($3::date, 'infinity')
  order by v.production_day`;

const PROGRAMMES = `select v.programme, ${endOf('g.production_day')} as at, g.planned_chainage_m::float8 as "atM"
  from (select * from programme where drive_id = $1 and ($4::text is null or programme = $4) order by programme limit ${MOST_PROGRAMMES}) v
  ${PLACE} cross join lateral programme_progress(v.project_code, v.drive_code, v.programme) g
  where g.planned_m is not null and g.production_day ${WITHIN} and g.production_day <= coalesce($3::date, 'infinity')
  order by v.programme, g.production_day`;

const STOPS = `select v.code, ${clock('v.started_at')} as at, ${clock('v.ended_at')} as until, round(v.hours, 1)::text as hours, v.chainage_m::float8 as "atM"
  from ledger_stop v ${PLACE} where v.drive_id = $1 and v.lost and v.production_day ${WITHIN} and v.production_day <= coalesce($3::date, 'infinity')
  order by v.seconds desc, v.started_at limit ${MOST_STOPS}`;

const GROUND = `with named as (select min(b.baseline) as baseline from baseline_ground b where b.drive_id = $1 and ($2::text is null or b.baseline = $2)),
  class as (select code, (row_number() over (order by code) - 1)::int as place from ground_class where project_id = scope_project())
  select 0 as lane, g.baseline, g.ground_class_code as code, c.place, g.from_chainage_m::float8 as "fromChainageM", g.to_chainage_m::float8 as "toChainageM"
  from named join baseline_ground g on g.drive_id = $1 and g.baseline = named.baseline left join class c on c.code = g.ground_class_code
  union all
  select 1, null, r.ground_class_code, c.place, r.from_chainage_m::float8, r.to_chainage_m::float8
  from governing_class r left join class c on c.code = r.ground_class_code where r.drive_id = $1`;

/** The face position at the end of each day; on days without advance, the last position. */
const recordOf = (days: Day[]): Point[] => {
  const points: Point[] = [];
  let face: number | null = null;
  for (const { begins, ends, fromM, faceM } of days) {
    if (face === null && fromM !== null) points.push([fromM, timeOf(begins)]);
    face = faceM ?? face;
    if (face !== null) points.push([face, timeOf(ends)]);
  }
  return points;
};

const programmesOf = (planned: PlannedDay[]): Line[] =>
  [...new Set(planned.map(({ programme }) => programme))].map((programme, place) => ({
    kind: 'line',
    name: `programme ${programme}`,
    look: place + 1,
    points: planned
      .filter((each) => each.programme === programme)
      .map(({ at, atM }): Point => [atM, timeOf(at)]),
    isWhole: true,
  }));

const stopsOf = (stops: Stop[]): Series[] =>
  stops.length === 0
    ? []
    : [
        {
          kind: 'marks',
          name: 'longest stops, lost time',
          look: 2,
          points: stops.map(({ atM, at }) => [atM, timeOf(at)]),
          labels: stops.map((_, index) => String(index + 1)),
        },
      ];

const readAll = ({ id, statements, days, baseline, programme }: Reading) =>
  Promise.all([
    readRows<Day>(statements, DAYS, id, ...days),
    readRows<PlannedDay>(statements, PROGRAMMES, id, ...days, programme ?? null),
    readRows<Stop>(statements, STOPS, id, ...days),
    readRows<Ground>(statements, GROUND, id, baseline ?? null),
  ]);

export const TIME_CHAINAGE: Diagram = {
  name: 'time-chainage',
  title: 'Time–chainage diagram',
  about:
    'Where the face stood at the end of each production day, with the programmes, the longest stops, and the classes expected and met along the drive',
  extent: 'days',
  takes: ['baseline', 'programme'],
  views: ['day_advance', 'programme_progress', 'ledger_stop', 'baseline_ground', 'governing_class'],
  show: async (reading) => {
    const [days, planned, stops, ground] = await readAll(reading);
    const record = recordOf(days);
    const period = daysInWords(days[0]?.day, days.at(-1)?.day);
    const times = [...record.map(([, at]) => at ?? 0), ...planned.map(({ at }) => timeOf(at))];
    if (times.length === 0)
      return { period, panels: [], empty: 'Neither advance nor a programme is recorded in this period.' };
    const ends = chainageEnds(reading.window);
    const expected = ground.find(({ baseline }) => baseline)?.baseline;
    const lanes = expected ? [`baseline ${expected}`, 'met'] : ['met'];
    const pieces = expected ? ground : ground.map((piece) => ({ ...piece, lane: piece.lane - 1 }));
    const stopNotes = stops.map(
      ({ code, hours, at }, index) =>
        `${index + 1}: ${code} ${short(hours)} h from ${at.slice(0, 16).replace('T', ' ')}`,
    );
    return {
      period,
      notes: [
        'Points of record and programmes: where the face stood, or is to stand, at the end of a production day.',
        ...(stops.length > 0 ? [`Stops: ${stopNotes.join('; ')}.`] : []),
      ],
      panels: [
        {
          height: { share: 1 },
          x: { kind: 'chainage', label: '', isBare: ground.length > 0, ...ends },
          y: { kind: 'time', label: 'Date', from: Math.min(...times), to: Math.max(...times) },
          series: [
            { kind: 'line', name: 'record', look: 0, points: record, isWhole: true },
            ...programmesOf(planned),
            ...stopsOf(stops),
          ],
        },
        ...(ground.length > 0 ? [groundStrip(pieces, lanes, ends)] : []),
      ],
    };
  },
};

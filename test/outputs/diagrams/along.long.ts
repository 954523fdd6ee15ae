import { aBill, anItem } from '../../builders/bill.js';
import { app, ownDrives, toDrive } from '../../harness/own-drives.js';
import { across, boxesOf, chainage, date, lineOf, number, placeOf, upward, wordsOf } from './drawn.js';
import { aWeek, CODES, drawn, put, rows } from './site.js';

// Diagrams of quantities and along the drive, read back from their SVG.

ownDrives('DA');

beforeAll(async () => {
  await CODES();
  await put('/v1/projects/P1/ground-classes/A/standard-support', {
    edition: '1',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2' }],
  });
});

const HOUR = 3_600_000;
const [BLUE, ORANGE, VERMILION, GREY] = ['#56B4E9', '#E69F00', '#D55E00', '#bbbbbb'];

const along = (boxes: { left: number; right: number }[], x: (at: number) => number): number[][] =>
  boxes.map(({ left, right }) => [Math.round(x(left)), Math.round(x(right))]);

describe('utilisation', () => {
  it('draws the utilisation of each week from utilisation_by_week', async () => {
    await aWeek();
    const picture = await drawn('utilisation');
    const weeks = await rows<{ shift: number; calendar: number }>(
      `select of_shift_time::float8 * 100 as shift, of_calendar_time::float8 * 100 as calendar
        from report.utilisation_by_week where drive_code = $drive order by first_day`,
    );
    expect(weeks).toHaveLength(2); // Friday to Sunday, Monday and Tuesday
    const [x, y] = [across(picture, date), upward(picture, number)];
    const [shift, calendar] = ['#000000', VERMILION].map((stroke) => lineOf(picture, stroke).points);
    expect(shift?.map(([, at]) => y(at))).toEqual(weeks.map((week) => expect.closeTo(week.shift, 0)));
    expect(calendar?.map(([, at]) => y(at))).toEqual(weeks.map((week) => expect.closeTo(week.calendar, 0)));
    // the middle of three days, and of two
    expect(shift?.map(([at]) => Math.round(x(at) / HOUR))).toEqual(
      ['2024-03-02T12:00Z', '2024-03-05T00:00Z'].map((middle) =>
        expect.closeTo(Date.parse(middle) / HOUR, -1),
      ),
    );
  });
});

describe('class shares', () => {
  it('draws what the baseline expects of the driven length above what was met', async () => {
    await put('/baselines/HALF', {
      workingHoursPerDay: '20',
      intervals: [
        { from: '1+200', to: '1+215', groundClass: 'A', advanceRateMPerD: '10' },
        { from: '1+215', to: '2+200', groundClass: 'B', advanceRateMPerD: '10' },
      ],
    });
    expect(wordsOf(await drawn('class-shares'))).toContain('Nothing is driven yet');
    await aWeek();
    const picture = await drawn('class-shares', '?baseline=HALF');
    const x = across(picture, number);
    // for 60 m: 15 m of A and 45 m of B expected, 60 m of A encountered
    expect(boxesOf(picture, BLUE).map(({ right }) => x(right))).toEqual([
      expect.closeTo(25, 0),
      expect.closeTo(75, 0),
    ]);
    expect(boxesOf(picture, ORANGE).map(({ right }) => x(right))).toEqual([expect.closeTo(100, 0)]);
    const [expected] = boxesOf(picture, BLUE);
    const [met] = boxesOf(picture, ORANGE);
    expect(expected?.bottom).toBeCloseTo(met?.top ?? NaN, 0);
    expect(wordsOf(picture)).toContain('baseline HALF, 60 m driven');
    for (const words of ['15 m', '45 m', '60 m']) expect(wordsOf(picture)).toContain(words);
  });

  it('says where there is no baseline', async () => {
    expect(wordsOf(await drawn('class-shares'))).toContain('The drive has no baseline to compare with.');
  });
});

describe('bill quantities', () => {
  it('draws what the newest valuation measures to date as a share of the bill', async () => {
    expect(wordsOf(await drawn('bill-quantities'))).toContain('There is no valuation yet');
    await aWeek();
    const items = [
      anItem('L.1', { description: 'Setting up', unit: 'sum', decimals: 2, quantity: '1' }),
      anItem('L.2', { description: 'Ventilation', unit: 'sum', decimals: 2, quantity: '4' }),
      anItem('B.1', { description: 'Bolts, rate only', unit: 'nr', decimals: 0, quantity: '0' }),
    ];
    await put('/bills/V1', aBill(items, { validFrom: '2024-01-01' }));
    await put('/bills/V1/rules/L.1', { source: 'lump', dimension: 'percent' });
    await put('/bills/V1/rules/L.2', { source: 'lump', dimension: 'percent' });
    await put('/bills/V1/rules/B.1', { source: 'support', dimension: 'count', kinds: ['bolt'] });
    await put('/lump-progress/L.1/2024-03-05', { percent: '45' });
    await put('/lump-progress/L.2/2024-03-05', { percent: '75' });
    await put('/valuations/1', { cutOff: '2024-03-31' });
    const lines = await rows<{ to_date: number; bill: number }>(
      `select to_date_quantity::float8 as to_date, bill_quantity::float8 as bill from report.valuation_line where drive_code = $drive order by position`,
    );
    // 45 % of one, 75 % of four; no shift is countersigned, so no bolt counts
    expect(lines.map(({ to_date }) => to_date)).toEqual([0.45, 3, 0]);
    const picture = await drawn('bill-quantities');
    const [x, words] = [across(picture, number), wordsOf(picture)];
    expect(words).toContain('valuation 1 (draft), cut-off 2024-03-31');
    for (const text of ['0.45 of 1 sum', '3 of 4 sum', '0 nr, none in the bill'])
      expect(words).toContain(text);
    expect(boxesOf(picture, BLUE).map(({ right }) => x(right))).toEqual(
      lines.slice(0, 2).map(({ to_date, bill }) => expect.closeTo((100 * to_date) / bill, 0)),
    );
    expect(x(lineOf(picture, VERMILION).points[0]?.[0] ?? NaN)).toBeCloseTo(100, 0);
  });
});

describe('missing support', () => {
  it('draws where and how much of what is required is missing', async () => {
    await aWeek();
    const picture = await drawn('missing-support', '?from=1%2B200&to=1%2B260');
    const missing = await rows<{ from: number; to: number; share: number; total: string }>(
      `select from_chainage_m::float8 as from, to_chainage_m::float8 as to, (missing / required)::float8 as share, sum(missing) over ()::float8::text as total
        from report.missing_support_by_interval where drive_code = $drive and missing > 0 and part = 'due' order by from_chainage_m`,
    );
    expect(missing.length).toBeGreaterThan(0);
    const x = across(picture, chainage);
    const boxes = boxesOf(picture, VERMILION);
    // adjacent boxes of equal height are merged
    expect(boxes[0]?.left === undefined ? NaN : x(boxes[0].left)).toBeCloseTo(missing[0]?.from ?? NaN, 0);
    expect(x(boxes.at(-1)?.right ?? NaN)).toBeCloseTo(missing.at(-1)?.to ?? NaN, 0);
    expect(wordsOf(picture)).toContain(`BOLT L1: ${missing[0]?.total} nr`);
    expect(wordsOf(picture)).toContain('the local code decide');
  });

  it('draws length that is not assessed, and is drawn against the chainage', async () => {
    await toDrive('DAF', { startChainage: '2+200', endChainage: '1+200', direction: -1 });
    await put('/shifts/2024-03-01/day', {
      state: 'draft',
      strokes: [
        {
          number: 1,
          borings: [
            {
              from: '2+200',
              to: '2+160',
              startedAt: '2024-03-01T06:00:00Z',
              endedAt: '2024-03-01T09:00:00Z',
            },
          ],
        },
      ],
      activities: [],
      support: [],
      ground: [],
    });
    const picture = await drawn('missing-support');
    expect(along(boxesOf(picture, GREY), across(picture, chainage))).toEqual([[2160, 2200]]);
    expect(wordsOf(picture)).toContain('2+200.000 to 1+200.000, by 10 m');
  });
});

describe('strokes', () => {
  it('draws penetration and torque ratio of report.stroke at the middle of each stroke', async () => {
    await aWeek();
    const picture = await drawn('strokes');
    const strokes = await rows<{ at: number; p: number; t: number }>(
      `select ((from_chainage_m + to_chainage_m) / 2)::float8 as at, penetration_mm_per_rev as p, torque_ratio as t from report.stroke
        where drive_code = $drive order by stroke_number`,
    );
    const second = placeOf(picture, 'Torque ratio [–]');
    const [x, p, t] = [
      across(picture, chainage),
      upward(picture, number, 0, second),
      upward(picture, number, second),
    ];
    const lines = picture.paths.filter(
      ({ stroke, fill, points }) =>
        stroke === '#000000' &&
        fill === 'none' &&
        points.length === 3 &&
        (points[2]?.[0] ?? 0) - (points[0]?.[0] ?? 0) !== 28,
    );
    expect(lines.map(({ points }) => points.map(([at]) => x(at)))).toEqual(
      [1, 2].map(() => strokes.map(({ at }) => expect.closeTo(at, -1))),
    );
    expect(lines[0]?.points.map(([, at]) => p(at))).toEqual(
      strokes.map((stroke) => expect.closeTo(stroke.p, 1)),
    );
    expect(lines[1]?.points.map(([, at]) => t(at))).toEqual(
      strokes.map((stroke) => expect.closeTo(stroke.t, 2)),
    );
    // the bounds of the trial machine
    const bounds = picture.paths
      .filter(({ stroke, points }) => stroke === VERMILION && points.length === 2)
      .map(({ points }) => t(points[0]?.[1] ?? NaN));
    expect(bounds).toEqual([expect.closeTo(0.35, 2), expect.closeTo(0.57, 2)]);
  });

  it('keeps every extreme of 12,000 strokes, and is small', async () => {
    await toDrive('DAL', { startChainage: '0+000', endChainage: '20+400' });
    await app.sql(
      `insert into boring (drive_id, project_id, stroke_number, from_m, to_m, penetration_mm_per_rev, torque_ratio)
        select d.id, d.project_id, i, 1.7 * (i - 1), 1.7 * i, case when i % 997 = 0 then 19 when i % 991 = 0 then 1 else 8 + sin(i) end, 0.45
        from drive d cross join generate_series(1, 12000) i where d.code = 'DAL'`,
    );
    const picture = await drawn('strokes');
    const second = placeOf(picture, 'Torque ratio [–]');
    const [x, y] = [across(picture, chainage), upward(picture, number, 0, second)];
    const line = lineOf(picture, '#000000');
    expect(line.points.length).toBeLessThan(4 * 1000);
    const reached = line.points.map(([atX, atY]) => [x(atX), y(atY)] as const);
    const peaks = reached.filter(([, value]) => value > 18.5).map(([at]) => at);
    const troughs = reached.filter(([, value]) => value < 1.5).map(([at]) => at);
    const places = (step: number): number[] =>
      Array.from({ length: Math.floor(12_000 / step) }, (_, index) => 1.7 * (step * (index + 1) - 0.5));
    expect(peaks).toEqual(places(997).map((at) => expect.closeTo(at, -1.5)));
    expect(troughs).toEqual(places(991).map((at) => expect.closeTo(at, -1.5)));
  });
});

describe('inflow', () => {
  it('draws inflow per 100 m, its sum, and what was not measured', async () => {
    await aWeek();
    expect(wordsOf(await drawn('inflow'))).toContain('No inflow is measured in this part.');
    const water = { place: 'interval', method: 'bucket', measuredAt: '2024-03-06T09:00:00Z' };
    await put('/inflow-measurements/W1', { ...water, from: '1+200', to: '1+220', flowLPerMin: '4' });
    await put('/inflow-measurements/W2', { ...water, from: '1+240', to: '1+260', flowLPerMin: '10' });
    const picture = await drawn('inflow', '?from=1%2B200&to=1%2B260');
    const second = placeOf(picture, 'Inflow cumulated from the start of the drive [l/min]');
    const [x, y, sum] = [
      across(picture, chainage),
      upward(picture, number, 0, second),
      upward(picture, number, second),
    ];
    // 4 l/min over 20 m are 20 per 100 m, 10 l/min are 50
    const bars = boxesOf(picture, BLUE);
    expect(along(bars, x)).toEqual([
      [1200, 1220],
      [1240, 1260],
    ]);
    expect(bars.map(({ top }) => y(top))).toEqual([expect.closeTo(20, 0), expect.closeTo(50, 0)]);
    expect(along(boxesOf(picture, GREY), x)).toEqual([[1220, 1240]]);
    const [, lastY] = lineOf(picture, '#000000').points.at(-1) ?? [NaN, NaN];
    expect(sum(lastY)).toBeCloseTo(14, 0);
  });
});

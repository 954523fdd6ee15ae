import { readFileSync } from 'node:fs';
import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { aShift } from '../../builders/shift.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { naiveStatistic, type NaiveStroke } from './naive-statistics.js';
import { OPEN_TABLE, openMap, publishedRows, STROKES, upload } from './tables.js';
import { describeOnce, itOnce, runs } from '../../harness/sizes.js';

let app: TestApp;

const P = '/v1/projects/P1';

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

interface Statistic extends Record<string, unknown> {
  quantity: string;
  unit: string;
  strokeCount: number;
  mean: number;
  median: number | null;
  p10: number | null;
  p90: number | null;
  lengthWeightedMean: number | null;
  timeWeightedMean: number | null;
  from?: string;
  to?: string;
  groundClass?: string | null;
}

const ask = async (drive: string, query = ''): Promise<Statistic[]> => {
  const { status, body } = await app.http.get(`${P}/drives/${drive}/strokes/statistics${query}`);
  if (status !== 200) throw new Error(JSON.stringify(body));
  return body as Statistic[];
};

const of = (list: Statistic[], quantity: string): Statistic => {
  const found = list.find((candidate) => candidate.quantity === quantity);
  if (!found) throw new Error(quantity);
  return found;
};

/** Within a billionth: sums of the same numbers in a different order. */
const near = (value: unknown): unknown =>
  typeof value === 'number' ? expect.closeTo(value, 9 - Math.ceil(Math.log10(Math.abs(value) + 1))) : value;

const nearAll = (record: object): object =>
  Object.fromEntries(Object.entries(record).map(([name, value]) => [name, near(value)]));

// Erharter et al., MIT licence, doi 10.1007/s00603-025-04542-4: the machine of the trial project is the table's machine A.
describeOnce('the statistics of the open stroke table', () => {
  const published = publishedRows();
  const whole = OPEN_TABLE.strokes === 589;
  const values = (name: string): number[] => published.map((row) => Number(row[name]));
  const meanOf = (numbers: number[]): number =>
    numbers.reduce((sum, number) => sum + number, 0) / numbers.length;
  const strokesOf = (name: string): NaiveStroke[] =>
    published.map((row, index) => {
      const fromMm = Math.round(Number(row['tunnellength stroke start [m]']) * 1000);
      const nextMm = Math.round(Number(published[index + 1]?.['tunnellength stroke start [m]']) * 1000);
      const endMm = Math.round(Number(row['tunnellength stroke end [m]']) * 1000);
      // because the import closes a gap of a centimetre
      return { fromMm, toMm: nextMm - endMm === 10 ? nextMm : endMm, values: { x: Number(row[name]) } };
    });

  beforeAll(async () => {
    const file = readFileSync(OPEN_TABLE.file);
    const { status, text } = await upload(app, {
      file,
      map: openMap('mean'),
      fields: { closeGaps: '0.010' },
    });
    if (status !== 200) throw new Error(text);
  });

  itOnce(
    'are the published means: penetration, thrust, torque, ratio, and the published classes',
    async () => {
      const list = await ask('N');
      const found = ['penetration_mm_per_rev', 'thrust_kn', 'torque_knm', 'torque_ratio'].map((quantity) => {
        const { strokeCount, mean } = of(list, quantity);
        expect(strokeCount).toBe(OPEN_TABLE.strokes);
        return mean;
      });
      // For the whole table, as published by its authors; for the twelve rows, added up here.
      const expected = whole
        ? [9.6167, 10_406.23, 1651.75, 0.49633]
        : [
            meanOf(values('Penetration [mm/rot] mean')),
            meanOf(values('Total advance force [kN] mean')),
            1000 * meanOf(values('Torque cutterhead [MNm] mean')),
            meanOf(values('torque ratio [-] mean')),
          ];
      const digits = [4, 2, 2, 5];
      for (const [index, value] of expected.entries()) expect(found[index]).toBeCloseTo(value, digits[index]);
      // No friction is agreed: thrust per disc is one fiftieth. Rate: 6 rpm throughout, p·6·60/1000.
      const [penetration = NaN, thrust = NaN, torque = NaN] = found;
      expect(of(list, 'thrust_per_disc_kn').mean).toBeCloseTo(thrust / 50, 8);
      expect(of(list, 'penetration_rate_m_per_h').mean).toBeCloseTo(penetration * 0.36, 8);
      expect(of(list, 'power_kw').mean).toBeCloseTo((2 * Math.PI * 6 * torque) / 60, 6);
      const [regular = NaN, exceptional = NaN] = OPEN_TABLE.mean;
      const shares = of(list, 'regular_advance');
      expect([shares.strokeCount, shares.mean * shares.strokeCount]).toEqual([
        regular + exceptional,
        near(regular),
      ]);
    },
  );

  itOnce('report percentiles and length-weighted means as in a naive calculation', async () => {
    const list = await ask('N');
    for (const [quantity, name] of [
      ['penetration_mm_per_rev', 'Penetration [mm/rot] mean'],
      ['thrust_kn', 'Total advance force [kN] mean'],
      ['torque_ratio', 'torque ratio [-] mean'],
    ] as const) {
      const naive = naiveStatistic(strokesOf(name), 'x');
      expect(of(list, quantity)).toMatchObject(nearAll({ ...naive, timeWeightedMean: null }));
    }
    const [lengths, shares] = [of(list, 'length_m'), of(list, 'regular_advance')];
    expect(lengths.mean * lengths.strokeCount).toBeCloseTo(Number(OPEN_TABLE.metres), 6);
    expect([lengths.lengthWeightedMean, shares.median, shares.p10, shares.p90]).toEqual([
      null,
      null,
      null,
      null,
    ]);
    const regularMm = strokesOf('advance class mean')
      .filter(({ values: { x } }) => x === 0)
      .reduce((sum, { fromMm, toMm }) => sum + toMm - fromMm, 0);
    expect(shares.lengthWeightedMean).toBeCloseTo(regularMm / 1000 / Number(OPEN_TABLE.metres), 10);
    // Its strokes have no times.
    expect(list.map(({ quantity }) => quantity)).not.toContain('cycle_minutes');
    expect(list.map(({ quantity }) => quantity)).not.toContain('timed_penetration_rate_m_per_h');
  });

  itOnce(
    'are the same by intervals, which start at round chainages and contain the strokes whose middles they hold',
    async () => {
      const list = (await ask('N', '?by=interval&lengthM=70')).filter(
        ({ quantity }) => quantity === 'penetration_mm_per_rev',
      );
      const strokes = strokesOf('Penetration [mm/rot] mean');
      const cells = new Map<number, NaiveStroke[]>();
      for (const stroke of strokes) {
        const cell = Math.floor((1_200_000 + (stroke.fromMm + stroke.toMm) / 2) / 70_000);
        cells.set(cell, [...(cells.get(cell) ?? []), stroke]);
      }
      expect(list.map(({ from }) => from)).toEqual(
        [...cells.keys()].map((cell) => formatChainage(Math.max(cell * 70_000, 1_200_000))),
      );
      for (const [index, held] of [...cells.values()].entries())
        expect(list[index]).toMatchObject(nearAll({ ...naiveStatistic(held, 'x'), timeWeightedMean: null }));
    },
  );

  itOnce('are the same by GraphQL and by SQL', async () => {
    const fields =
      'groundClass from to quantity unit strokeCount mean median p10 p90 lengthWeightedMean timeWeightedMean';
    const query = `{ drive(project: "P1", drive: "N") { all: strokeStatistics { ${fields} }
      classes: strokeStatistics(by: ground_class) { ${fields} } cells: strokeStatistics(by: interval) { ${fields} } } }`;
    const { drive } = (await app.http.post('/graphql').send({ query })).body.data as {
      drive: Record<string, Statistic[]>;
    };
    const bare = { groundClass: null, from: null, to: null };
    expect(drive['all']).toEqual((await ask('N', '?by=drive')).map((row) => ({ ...bare, ...row })));
    expect(drive['classes']).toEqual(
      (await ask('N', '?by=ground-class')).map((row) => ({ ...bare, ...row })),
    );
    // 100 m when no length is asked for
    expect(drive['cells']).toEqual(
      (await ask('N', '?by=interval&lengthM=100')).map((row) => ({ ...bare, ...row })),
    );
    const sql = await app.sql<{ n: number }>(
      `select sum(stroke_count)::int as n from report.stroke_statistics('P1', 'N', 12.5) where quantity = 'thrust_kn'`,
    );
    expect(sql).toEqual([{ n: OPEN_TABLE.strokes }]);
  });

  itOnce.each([
    ['?by=week', '/by', /by must be one of/],
    ['?by=interval&lengthM=0', '/lengthM', /lengthM must not be less than 1/],
    ['?by=interval&lengthM=x', '/lengthM', /lengthM must be a number/],
    ['?lengthM=10', '/lengthM', /lengthM goes with by=interval, not with by=drive/],
    ['?by=ground-class&lengthM=10', '/lengthM', /not with by=ground-class/],
  ])('%s is refused', async (query, pointer, detail) => {
    const { status, body } = await app.http.get(`${STROKES}/statistics${query}`);
    expect([status, body.errors]).toEqual([
      422,
      expect.arrayContaining([expect.objectContaining({ pointer, detail: expect.stringMatching(detail) })]),
    ]);
  });

  itOnce('of a drive that does not exist are not found', async () => {
    for (const query of ['', '?by=ground-class', '?by=interval'])
      expect((await app.http.get(`${P}/drives/NOPE/strokes/statistics${query}`)).status).toBe(404);
  });
});

describe('statistics of any strokes', () => {
  interface TrialStroke {
    lengthMm: number;
    minutes: number;
    pause: number;
    timed: boolean;
    penetration: number | undefined;
    torque: number | undefined;
  }

  const reading = fc.option(
    fc.integer({ min: 1, max: 20_000 }).map((n) => n / 1000),
    {
      nil: undefined,
      freq: 6,
    },
  );
  const trial = fc.record({
    direction: fc.constantFrom<1 | -1>(1, -1),
    intervalMm: fc.integer({ min: 1000, max: 9000 }),
    strokes: fc.array(
      fc.record({
        lengthMm: fc.integer({ min: 100, max: 1700 }),
        minutes: fc.integer({ min: 5, max: 60 }),
        pause: fc.integer({ min: 0, max: 90 }),
        timed: fc.integer({ min: 0, max: 7 }).map((n) => n > 0),
        penetration: reading,
        torque: reading,
      }),
      { minLength: 1, maxLength: 25 },
    ),
    ground: fc.uniqueArray(fc.integer({ min: 0, max: 30_000 }), { minLength: 2, maxLength: 6 }),
  });

  const START_MM = 3_003_337;
  const LENGTH_MM = 50_000;
  const ORIGIN = Date.parse('2027-03-01T06:00:00Z');
  let drives = 0;

  const iso = (minutes: number): string => new Date(ORIGIN + minutes * 60_000).toISOString();

  /** The strokes with their values by definition. */
  const placed = (strokes: TrialStroke[]): NaiveStroke[] => {
    let [mm, minutes] = [0, 0];
    const list = strokes.map((stroke): NaiveStroke => {
      const [fromMm, startMin] = [mm, minutes];
      mm += stroke.lengthMm;
      minutes += stroke.minutes + stroke.pause;
      const times = stroke.timed ? { startMin, endMin: startMin + stroke.minutes } : {};
      const { penetration, torque } = stroke;
      return {
        fromMm,
        toMm: mm,
        ...times,
        values: {
          penetration_mm_per_rev: penetration,
          torque_knm: torque,
          penetration_rate_m_per_h: penetration && penetration * 0.36,
          timed_penetration_rate_m_per_h: stroke.timed
            ? stroke.lengthMm / 1000 / (stroke.minutes / 60)
            : undefined,
          power_kw: torque && (2 * Math.PI * 6 * torque) / 60,
          torque_penetration_index: torque && penetration && torque / penetration,
          length_m: stroke.lengthMm / 1000,
        },
      };
    });
    for (const [index, stroke] of list.entries()) {
      const next = list[index + 1]?.startMin;
      if (next !== undefined && stroke.startMin !== undefined)
        stroke.values['cycle_minutes'] = next - stroke.startMin;
    }
    return list;
  };

  const BY_TIME = ['penetration_rate_m_per_h', 'timed_penetration_rate_m_per_h', 'power_kw'];
  const UNWEIGHTED = ['length_m', 'cycle_minutes'];
  const QUANTITIES = [
    ...BY_TIME,
    ...UNWEIGHTED,
    'penetration_mm_per_rev',
    'torque_knm',
    'torque_penetration_index',
  ];

  const expectLike = (found: Statistic[], strokes: NaiveStroke[]): void => {
    for (const quantity of QUANTITIES) {
      const naive = naiveStatistic(strokes, quantity);
      const reported = found.find((row) => row.quantity === quantity);
      if (!naive) expect(reported).toBeUndefined();
      else
        expect(reported).toMatchObject(
          nearAll({
            ...naive,
            lengthWeightedMean: UNWEIGHTED.includes(quantity) ? null : naive.lengthWeightedMean,
            timeWeightedMean: BY_TIME.includes(quantity) ? naive.timeWeightedMean : null,
          }),
        );
    }
  };

  it('agree with a naive calculation: of the drive, by ground class and by interval, in both directions', async () => {
    await fc.assert(
      fc.asyncProperty(trial, async ({ direction, intervalMm, strokes, ground }) => {
        drives += 1;
        const drive = `S${drives}`;
        const chainage = (mm: number): string => formatChainage(START_MM + direction * mm);
        await aDrive(app, { drive, startChainage: chainage(0), endChainage: chainage(LENGTH_MM), direction });
        const list = placed(strokes);
        const lines = list.map(({ fromMm, toMm, startMin, endMin, values }, index) =>
          [
            index + 1,
            fromMm / 1000,
            toMm / 1000,
            startMin === undefined ? '' : iso(startMin),
            endMin === undefined ? '' : iso(endMin),
            values['penetration_mm_per_rev'] ?? '',
            values['torque_knm'] ?? '',
            6,
          ].join(','),
        );
        const file = `No,From,To,Start,End,p,T,n\n${lines.join('\n')}\n`;
        const map = {
          number: 'No',
          fromM: 'From',
          toM: 'To',
          startedAt: 'Start',
          endedAt: 'End',
          penetrationMmPerRev: 'p',
          torqueKnm: 'T',
          rotationRpm: 'n',
        };
        const taken = await upload(app, { file, map, url: `${P}/drives/${drive}/strokes` });
        if (taken.status !== 200) throw new Error(taken.text);
        const shift = aShift();
        const ends = [...ground].sort((a, b) => a - b);
        const notes = ends.slice(1).map((toMm, index) => ({
          fromMm: ends[index] ?? 0,
          toMm,
          groundClass: index % 2 === 0 ? 'A' : 'B',
        }));
        for (const { groundClass, fromMm, toMm } of notes)
          shift.withGround(groundClass, chainage(fromMm), chainage(toMm));
        const noted = await app.http.put(`${P}/drives/${drive}/shifts/2027-03-01/day`).send(shift.build());
        if (noted.status !== 201) throw new Error(noted.text);

        expectLike(await ask(drive), list);

        const middle = ({ fromMm, toMm }: NaiveStroke): number => (fromMm + toMm) / 2;
        const classes = await ask(drive, '?by=ground-class');
        for (const groundClass of ['A', 'B', null])
          expectLike(
            classes.filter((row) => row.groundClass === groundClass),
            list.filter((stroke) => {
              const note = notes.find(
                ({ fromMm, toMm }) => fromMm <= middle(stroke) && middle(stroke) < toMm,
              );
              return (note?.groundClass ?? null) === groundClass;
            }),
          );

        const cells = await ask(drive, `?by=interval&lengthM=${intervalMm / 1000}`);
        const cellOf = (stroke: NaiveStroke): number =>
          Math.floor((direction * START_MM + middle(stroke)) / intervalMm);
        for (const cell of new Set(list.map(cellOf))) {
          const fromMm = Math.max(cell * intervalMm - direction * START_MM, 0);
          const toMm = Math.min((cell + 1) * intervalMm - direction * START_MM, LENGTH_MM);
          const reported = cells.filter(({ from }) => from === chainage(fromMm));
          expect(new Set(reported.map(({ to }) => to))).toEqual(new Set([chainage(toMm)]));
          expectLike(
            reported,
            list.filter((stroke) => cellOf(stroke) === cell),
          );
        }
      }),
      runs(3, 25),
    );
  });
});

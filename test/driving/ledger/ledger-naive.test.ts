import fc from 'fast-check';
import { formatChainage } from '../../../src/engineering/chainage.js';
import { aDrive, aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import {
  cutRows,
  cutsOf,
  groundClassRows,
  NO_KEY,
  paretoRows,
  reliabilityRows,
  type Row,
  stopRows,
  utilisationRows,
} from './naive-answers.js';
import { NaiveLedger } from './naive-ledger.js';
import { TICK_MS } from './naive-clock.js';
import { CODES, DAY_STARTS, LENGTH_MM, type Shift, type World, worlds } from './worlds.js';
import { runs } from '../../harness/sizes.js';

// Every figure of the ledger against a naive one (naive-ledger.ts), by REST on PostgreSQL.

let app: TestApp;
let drives = 0;

const projectOf = (dayStart: string): string => `P${DAY_STARTS.indexOf(dayStart)}`;

beforeAll(async () => {
  app = await startApp();
  for (const dayStart of DAY_STARTS) {
    const project = projectOf(dayStart);
    await aProject(app, { project, timeZone: 'Europe/Zurich', dayStart });
    const put = async (path: string, body: object): Promise<void> => {
      expect((await app.http.put(`/v1/projects/${project}${path}`).send(body)).status).toBeLessThan(300);
    };
    for (const [code, countsAs] of Object.entries(CODES))
      await put(`/activity-codes/${code}`, { description: `of ${code}`, countsAs });
    for (const code of ['BELT', 'HEAD']) await put(`/equipment/${code}`, { description: `the ${code}` });
    await put('/ground-classes/C', { description: 'Poor rock' });
  }
});

afterAll(() => app.close());

const moment = (at: number): string => new Date(at).toISOString();

const documentOf = (shift: Shift, { direction, startMm, notes, shifts }: World): object => {
  const at = (mm: number): string => formatChainage(startMm + direction * mm);
  return {
    state: shift.submitted ? 'submitted' : 'draft',
    strokes: shift.borings.map(({ number, start, end, fromMm, mmPerTick }) => ({
      number,
      borings: [
        {
          from: at(fromMm),
          to: at(fromMm + ((end - start) / TICK_MS) * mmPerTick),
          startedAt: moment(start),
          endedAt: moment(end),
        },
      ],
    })),
    activities: shift.activities.map(({ start, end, code, party, equipment }) => ({
      startedAt: moment(start),
      endedAt: moment(end),
      code,
      responsibleParty: party,
      equipment,
    })),
    support: [],
    ground:
      shift === shifts[0]
        ? notes.map(({ fromMm, toMm, groundClass }) => ({ from: at(fromMm), to: at(toMm), groundClass }))
        : [],
  };
};

/** Writes the world as a separate drive. @returns the address of its ledger */
const record = async (world: World): Promise<string> => {
  drives += 1;
  const [project, drive] = [projectOf(world.dayStart), `D${drives}`];
  const { direction, startMm } = world;
  await aDrive(app, {
    project,
    drive,
    startChainage: formatChainage(startMm),
    endChainage: formatChainage(startMm + direction * LENGTH_MM),
    direction,
  });
  const url = `/v1/projects/${project}/drives/${drive}`;
  for (const shift of world.shifts) {
    const sent = app.http.put(`${url}/shifts/${shift.date}/${shift.name}`);
    const { status, text } = await sent.send(documentOf(shift, world));
    if (status !== 201) throw new Error(text);
  }
  return `${url}/ledger`;
};

const millionths = (share: unknown): number => Number(String(share).replace('.', ''));

/** Checks that they sum to 1 exactly, and that each is correct to the millionth. */
const expectShares = (rows: Row[], whole: number): void => {
  const sum = rows.reduce((total, { share }) => total + millionths(share), 0);
  expect(sum).toBe(rows.length === 0 ? 0 : 1_000_000);
  for (const row of rows) {
    const exact = (Number(row.seconds) / 300 / whole) * 1e6;
    expect(Math.abs(millionths(row.share) - exact)).toBeLessThan(1);
  }
};

const without = (row: Row, ...names: string[]): Row =>
  Object.fromEntries(Object.entries(row).filter(([name]) => !names.includes(name)));

const byKey = (rows: Row[], keys: string[]): Map<string, Row> =>
  new Map(
    rows.map((row) => [keys.map((key) => row[key] ?? NO_KEY).join(' '), without(row, 'share', ...keys)]),
  );

type Get = <T = Row[]>(path: string, query?: object) => Promise<T>;

const expectCuts = async (get: Get, ledger: NaiveLedger): Promise<void> => {
  const whole = ledger.ticks.length;
  for (const cut of cutsOf(ledger)) {
    const rows = await get(cut.path, cut.query);
    expect([cut.path, byKey(rows, cut.keys)]).toEqual([cut.path, cutRows(ledger, cut)]);
    expect(rows.reduce((sum, row) => sum + Number(row.seconds), 0)).toBe(whole * 300);
    expectShares(rows, whole);
  }
  const classes = await get('ground-classes');
  expect(byKey(classes, ['groundClass'])).toEqual(groundClassRows(ledger));
  expectShares(classes, whole);
};

const expectPareto = async (get: Get, ledger: NaiveLedger): Promise<void> => {
  const rows = await get('pareto');
  expect(rows.map((row) => without(row, 'share', 'cumulativeShare'))).toEqual(paretoRows(ledger));
  expectShares(rows, ledger.nonBoring().length);
  let sum = 0;
  for (const row of rows) expect(millionths(row.cumulativeShare)).toBe((sum += millionths(row.share)));
};

const expectReliability = async (get: Get, ledger: NaiveLedger): Promise<void> => {
  const { equipment, ...drive } = await get<Row & { equipment: Row[] }>('reliability');
  const rows = equipment.map((row): [string, Row] => [
    String(row.equipment ?? `code ${row.code}`),
    without(row, 'equipment', 'code', 'description'),
  ]);
  expect(new Map([['', drive], ...rows])).toEqual(reliabilityRows(ledger));
};

it('agrees with a count in steps of five minutes, by every cut, and every cut sums to the whole', async () => {
  await fc.assert(
    fc.asyncProperty(worlds, async (world) => {
      const url = await record(world);
      const ledger = new NaiveLedger(world);
      const range = { ...(world.from ? { from: world.from } : {}), ...(world.to ? { to: world.to } : {}) };
      const get: Get = async <T>(path: string, query: object = {}) => {
        const { status, body } = await app.http.get(`${url}/${path}`).query({ ...range, ...query });
        expect([path, status]).toEqual([path, 200]);
        return body as T;
      };
      await expectCuts(get, ledger);
      await expectPareto(get, ledger);
      for (const by of ['drive', 'week', 'month'] as const)
        expect(await get('utilisation', { by })).toEqual(utilisationRows(ledger, by));
      await expectReliability(get, ledger);
      expect(await get('stops', { first: 5 })).toEqual(stopRows(ledger, 5));
    }),
    runs(2, 30),
  );
});

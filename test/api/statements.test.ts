import { readFileSync } from 'node:fs';
import { jest } from '@jest/globals';
import path from 'node:path';
import { packageRoot } from '../../src/common/package-root.js';
import { aDrive, aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { hearStatements } from '../harness/sent.js';
import { oneIn } from '../harness/sizes.js';

// The number of SQL statements of a request depends on its operation only: it does not grow with the rows written or read.

interface Operation {
  parameters?: { in: string; name: string; required?: boolean }[];
}

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await aDrive(app, { drive: 'W' });
});

afterAll(() => app.close());
afterEach(() => jest.restoreAllMocks());

/** A day with `rows` strokes, activities, lines and notes, starting at a chainage. */
const shift = (date: string, startM: number, rows: number) => {
  const place = (row: number): string => `1+${(startM + row * 2).toFixed(3)}`;
  const built = aShift(date);
  for (let row = 0; row < rows; row += 1) {
    const [from, to] = [place(row), place(row + 1)];
    const [starts, ends] = [
      `06:${String(row * 5).padStart(2, '0')}`,
      `06:${String(row * 5 + 5).padStart(2, '0')}`,
    ];
    built
      .withStroke(Math.round(startM) + row, from, to, starts, ends)
      .withActivity('BORE', starts, ends)
      .withSupport('BOLT', from, to, '4')
      .withGround(row % 2 === 0 ? 'A' : 'B', from, to);
  }
  return built.build();
};

const put = async (drive: string, date: string, startM: number, rows: number): Promise<void> => {
  const url = `/v1/projects/P1/drives/${drive}/shifts/${date}/day`;
  const { status, body } = await app.http.put(url).send(shift(date, startM, rows));
  expect([status, body.errors]).toEqual([201, undefined]);
};

const sentBy = async (request: () => Promise<unknown>): Promise<string[]> => {
  const heard = hearStatements();
  try {
    await request();
    return [...heard];
  } finally {
    jest.restoreAllMocks();
  }
};

/** The fewest of three requests: now and then a cache of some seconds is refreshed. */
const fewest = async (request: () => Promise<unknown>): Promise<number> => {
  const counts: number[] = [];
  for (let time = 0; time < 3; time += 1) counts.push((await sentBy(request)).length);
  return Math.min(...counts);
};

it('for a shift: eight times as many rows, the same statements', async () => {
  let [day, startM] = [0, 200];
  const next = (rows: number) => async (): Promise<void> => {
    day += 1;
    await put('W', `2027-03-0${day}`, startM, rows);
    startM += rows * 2;
  };
  await next(1)(); // opens connections
  const few = await fewest(next(1));
  expect(few).toBeGreaterThan(4);
  expect(await fewest(next(8))).toBe(few);
  // before all of these, which may hang on it
  let past = 20;
  expect(
    await fewest(() => {
      past += 1;
      return put('W', `2027-02-${past}`, 200, 0);
    }),
  ).toBe(few);
});

/** Readings of a drive without other inputs, by the description of the API. */
const READINGS = Object.entries(
  (
    JSON.parse(readFileSync(path.join(packageRoot, 'docs', 'openapi.json'), 'utf8')) as {
      paths: Record<string, { get?: Operation; parameters?: Operation['parameters'] }>;
    }
  ).paths,
)
  .filter(([, { get, parameters = [] }]) =>
    [...(get?.parameters ?? [{ in: 'path', name: 'none' }]), ...parameters].every(
      ({ in: where, name, required }) => (where === 'path' ? ['project', 'drive'].includes(name) : !required),
    ),
  )
  .map(([route]) => route)
  .filter((route) => route.includes('{drive}'))
  .map((route) => route.replace('{project}', 'P1').replace('{drive}', 'N'));

it('for each reading of a drive: a record that grows, the same statements', async () => {
  expect(READINGS.length).toBeGreaterThan(25);
  await put('N', '2027-03-01', 200, 2);
  const countAll = async (): Promise<[string, number][]> => {
    const counts: [string, number][] = [];
    for (const url of oneIn(4, READINGS)) {
      const ask = async (): Promise<void> => {
        const { status } = await app.http.get(url);
        expect([url, status < 500]).toEqual([url, true]);
      };
      counts.push([url, await fewest(ask)]);
    }
    return counts;
  };
  const few = await countAll();
  for (let day = 2; day <= 5; day += 1) await put('N', `2027-03-0${day}`, 204 + (day - 2) * 16, 8);
  expect(await countAll()).toEqual(few);
});

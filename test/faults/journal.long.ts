import { chmodSync, mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import fc from 'fast-check';
import supertest from 'supertest';
import { aDrive, aProject } from '../builders/project.js';
import { captured } from '../harness/captured-command.js';
import { seed } from '../harness/seed.js';
import { cutAtStatement, Site, type Strike, STRIKES } from './strikes.js';
import { sized } from '../harness/sizes.js';

const DRIVES = ['N', 'W1', 'W2'];

/** Short faults that do not restart PostgreSQL: `npm test` has the first two. */
const SHORT = [
  'connections are reset',
  'the service is killed',
  'cut after COMMIT',
  'a backend is killed',
  'the database is out of reach',
  'cut at a statement, whose answer does not arrive',
  'cut at COMMIT, which does not arrive',
  'the postmaster is killed',
].slice(0, sized(2, 8));

/** `npm run test:faults` has every fault, and runs longer. */
const isFaults = process.env.TEST_FAULTS !== undefined;

/** How often every fault strikes. */
const ROUNDS = isFaults ? 4 : 1;

/** Number of statements of several concurrent writes to interrupt in turn, in each way. */
const STATEMENTS = isFaults ? 40 : 0;

interface Round {
  name: string;
  strike: Strike;
  /** The number of the request at which it strikes. */
  request: number;
  n: number;
}

const schedule = (): Round[] => {
  const names = Object.keys(STRIKES).filter((name) => isFaults || SHORT.includes(name));
  const order = fc.shuffledSubarray(names, { minLength: names.length, maxLength: names.length });
  const number = fc.integer({ min: 1, max: 9 });
  const struck = fc.array(fc.tuple(number, number), { minLength: names.length, maxLength: names.length });
  const random = fc.sample(fc.tuple(order, struck), { numRuns: ROUNDS }).flatMap(([sorted, numbers]) =>
    sorted.map((name, index): Round => {
      const [request = 1, n = 1] = numbers[index] ?? [];
      return { name, strike: STRIKES[name] as Strike, request, n };
    }),
  );
  const cuts = (['before', 'sent', 'answered'] as const).flatMap((when) =>
    Array.from({ length: STATEMENTS }, (_, index): Round => {
      const name = `cut at statement ${index + 1} (${when})`;
      return { name, strike: cutAtStatement(when), request: 1, n: index + 1 };
    }),
  );
  return [...random, ...cuts];
};

let folder: string;
let site: Site;

beforeAll(async () => {
  folder = mkdtempSync(path.join(os.tmpdir(), 'journal-'));
  chmodSync(folder, 0o755); // root's PostgreSQL runs as another user
  site = await Site.start(path.join(folder, 'data'));
  const http = supertest(await site.service.address);
  await aProject({ http });
  for (const drive of DRIVES.slice(1)) await aDrive({ http }, { drive });
});

afterAll(async () => {
  await site.stop();
  rmSync(folder, { recursive: true, force: true });
});

describe(`while shifts are posted to several drives (seed ${seed})`, () => {
  it.each(schedule())('$name (request $request, $n): each is finally acknowledged', async (round) => {
    const { strike, request, n } = round;
    const begun = site.journal.request(request);
    const posting = site.journal.post(DRIVES, 1 + Number(request > 4));
    await begun;
    await strike(site, n);
    await posting;
    expect(site.journal.violations).toEqual([]);
  });

  it('the record has everything acknowledged, once and whole, and nothing else; the history is sound', async () => {
    expect(site.journal.acknowledged).toBeGreaterThan(0);
    expect(await site.journal.differences((text) => site.sql(text))).toEqual([]);
    process.env.DATABASE_URL = site.postgres.url;
    const { status, out } = await captured('audit', 'verify');
    expect([status, out]).toEqual([0, expect.stringMatching(/^P1: sound, /)]);
  });
});

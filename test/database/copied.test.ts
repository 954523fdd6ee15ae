import type { Readable } from 'node:stream';
import { setTimeout as sleep } from 'node:timers/promises';
import { loadConfig } from '../../src/common/config/config.js';
import { Admission, sharesOf } from '../../src/common/database/admission.js';
import { CopiedRows } from '../../src/common/database/copied-rows.js';
import { Database } from '../../src/common/database/database.js';
import { Gate } from '../../src/common/database/gate.js';
import { inScope } from '../../src/common/database/scope.js';
import type { SharedReading } from '../../src/common/database/shared-reading.js';
import { sqlStateOf } from '../../src/common/database/sql-error.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { inLong } from '../harness/sizes.js';

// COPY as part of readings: in their scope and state, with exclusive use of the connection until its reader is done.

const LIGHT_MS = 400;

let app: TestApp;
let database: Database;
let projectId: number;

beforeAll(async () => {
  app = await startApp();
  for (const project of ['P1', 'P2']) await aProject(app, { project });
  const [project] = await app.sql<{ id: number }>(`select id from project where code = 'P2'`);
  projectId = project?.id ?? 0;
  const limits = loadConfig({ DATABASE_LIGHT_TIMEOUT_MS: String(LIGHT_MS) });
  const cancel = async (pid: number): Promise<void> =>
    void (await app.sql('select pg_cancel_backend($1)', [pid]));
  database = new Database(app.url, 1, limits, new Gate(new Admission(sharesOf(1), 60_000), { cancel }));
});

afterAll(async () => {
  await database.close();
  await app.close();
});

const together = <T>(work: (readings: SharedReading) => Promise<T>): Promise<T> =>
  database.together((readings) =>
    inScope({ projectId, project: 'P2', actor: 'test', credential: 'test', readings }, () => work(readings)),
  );

/** The only column of each row. */
const textsOf = async (copy: Readable): Promise<string[]> => {
  const rows = new CopiedRows(1);
  const texts: string[] = [];
  for await (const piece of copy)
    for (const { bytes, starts, lengths } of rows.rows(piece as Buffer)) {
      const [start = 0, length = 0] = [starts[0], lengths[0]];
      texts.push(bytes.toString('utf8', start, start + length));
    }
  return texts;
};

const PROJECTS = 'select code from project order by code';

it('has the rows of its scope, and leaves the connection usable', async () => {
  const found = await together(async () => [
    await textsOf(await database.copied(PROJECTS)),
    await database.read(PROJECTS),
    await textsOf(await database.copied(`select 'ä' || chr(10) || '\\'`)),
  ]);
  expect(found).toEqual([['P2'], [{ code: 'P2' }], ['ä\n\\']]);
});

it('fails alone, before its first row and after it', async () => {
  const failing = `select (1 / (100000 - n))::text from generate_series(1, 200000) n`;
  const found = await together(async () => {
    const first = await textsOf(await database.copied('select 1 / 0')).catch(sqlStateOf);
    const later = await textsOf(await database.copied(failing)).catch(sqlStateOf);
    return [first, later, await database.read(PROJECTS)];
  });
  expect(found).toEqual(['22012', '22012', [{ code: 'P2' }]]);
});

it('is cancelled when PostgreSQL is silent for longer than a statement may take', async () => {
  const found = await together(async () => [
    await textsOf(await database.copied(`select 'late' from pg_sleep(600)`)).catch(sqlStateOf),
    await database.read(PROJECTS),
  ]);
  expect(found).toEqual(['57014', [{ code: 'P2' }]]);
});

/** More than the system buffers between PostgreSQL and its reader. */
const MUCH = `select repeat('x', 1000) from generate_series(1, 50000)`;

it('closes its connection when its reader leaves, and the next one has another', async () => {
  await together(async () => {
    const copy = await database.copied(MUCH);
    for await (const piece of copy) if (piece) break; // destroys it
  }).catch(() => undefined);
  expect(await together(() => database.read(PROJECTS))).toEqual([{ code: 'P2' }]);
});

inLong(() => {
  // Longer than a statement may take, and than detecting a half-open connection takes (half-open.ts): twice three sweeps of one second.
  it('waits for a reader that pauses', async () => {
    const rows = await together(async () => {
      const copy = await database.copied(MUCH);
      await sleep(15_000);
      return textsOf(copy);
    });
    expect(rows.length).toBe(50_000);
  });
});

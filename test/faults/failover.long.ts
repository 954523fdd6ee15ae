import { chmodSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import type pg from 'pg';
import supertest from 'supertest';
import { aDrive, aProject } from '../builders/project.js';
import { rowsAt } from '../harness/rows-at.js';
import { Served } from '../harness/served.js';
import { Standby } from '../harness/standby.js';
import { until } from '../harness/until.js';
import { Site } from './strikes.js';

const DRIVES = ['N', 'W1', 'W2'];

/** 503 answers before the standby takes over. */
const FAILURES = 5;

let folder: string;
let site: Site;
let standby: Standby;

const onStandby = <T extends pg.QueryResultRow>(text: string): Promise<T[]> => rowsAt<T>(standby.url, text);

beforeAll(async () => {
  folder = mkdtempSync(path.join(os.tmpdir(), 'failover-'));
  chmodSync(folder, 0o755); // for root, PostgreSQL runs as another user
  site = await Site.start(path.join(folder, 'data'));
  const http = supertest(await site.service.address);
  await aProject({ http });
  for (const drive of DRIVES.slice(1)) await aDrive({ http }, { drive });
  mkdirSync(path.join(folder, 'standby'), { mode: 0o755 });
  standby = await Standby.of(site.postgres, path.join(folder, 'standby'));
  // acknowledged writes are on both
  await site.sql(`alter system set synchronous_standby_names = 'standby'`);
  await site.sql('select pg_reload_conf()');
  await until(
    async () => (await site.sql(`select from pg_stat_replication where sync_state = 'sync'`)).length > 0,
  );
});

afterAll(async () => {
  await site.stop();
  await standby.stop();
  rmSync(folder, { recursive: true, force: true });
});

it('acknowledged shifts are on both servers', async () => {
  await site.journal.post(DRIVES, 2);
  expect([site.journal.violations, site.journal.failed]).toEqual([[], 0]);
});

it('a service does not start on a standby, and says why', async () => {
  const other = new Served({ DATABASE_URL: standby.url });
  expect(await other.startOnce()).toContain(
    'The database drive takes no writes: its server is a standby, or read-only. Name the primary.',
  );
});

it('on a standby every request is answered 503 with Retry-After; after promotion the service continues', async () => {
  const { proxy, journal, service, postgres } = site;
  const posting = journal.post(DRIVES, 3);
  await postgres.stop(0);
  proxy.lead(standby.url);
  const before = journal.failed;
  await until(() => journal.failed >= before + FAILURES);
  for (const reading of [
    '/v1/projects/P1/drives/N/shifts/2027-01-01/day',
    '/v1/projects/P1/drives/N/advance/shifts',
  ]) {
    const { status, headers, body } = await supertest(await service.address).get(reading);
    expect([status, Number(headers['retry-after']) > 0, body.type]).toEqual([
      503,
      true,
      '/docs/problems#unavailable',
    ]);
  }
  expect((await supertest(await service.address).get('/v1/health')).status).toBe(503);
  await standby.promote();
  await posting;
  expect([journal.violations, journal.unanswered]).toEqual([[], 0]);
  expect((await supertest(await service.address).get('/v1/health')).status).toBe(200);
});

it('the new primary has everything acknowledged, once and whole, and nothing else', async () => {
  expect(await site.journal.differences(onStandby)).toEqual([]);
});

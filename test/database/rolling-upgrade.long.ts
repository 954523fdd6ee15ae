import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import supertest from 'supertest';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';
import { Served } from '../harness/served.js';

const VERSION = '99.0.0';
const COMPATIBLE = '-- compatible: older builds keep working\n';
const NEW_COLUMN = 'alter table public.machine add column remark text;';

/** Two instances on one database: the older is the current build, the newer has one more migration and one changed view. */
let folder: string;
let database: TestDatabase;
let older: Served;
let newer: Served;

const built = (): string => process.env.TEST_BUILT ?? '';

const writeBuild = (name: string, migration: string): string => {
  const root = path.join(folder, name);
  mkdirSync(root);
  for (const each of ['dist', 'prisma'])
    cpSync(path.join(built(), each), path.join(root, each), { recursive: true, dereference: true });
  for (const each of ['node_modules', 'src']) symlinkSync(path.join(built(), each), path.join(root, each));
  const about = JSON.parse(readFileSync(path.join(built(), 'package.json'), 'utf8')) as object;
  writeFileSync(path.join(root, 'package.json'), JSON.stringify({ ...about, version: VERSION }));
  const added = path.join(root, 'prisma', 'migrations', '29990101000000_remark');
  mkdirSync(added);
  writeFileSync(path.join(added, 'migration.sql'), migration);
  const view = path.join(root, 'prisma', 'views', 'driving', 'shift_advance.sql');
  const sql = readFileSync(view, 'utf8');
  const changed = sql.replace('0.000) as advance_m,', '0.000) + 1000 as advance_m,');
  expect(changed).not.toBe(sql);
  writeFileSync(view, changed);
  return root;
};

const instances: Served[] = [];

const instance = (root: string): Served => {
  const service = new Served({ DATABASE_URL: database.url, TEST_BUILT: root });
  instances.push(service);
  return service;
};

/** Metres by shift as the instance answers them. */
const advance = async (service: Served): Promise<number[]> => {
  const { status, body } = await supertest(await service.address).get(
    '/v1/projects/P1/drives/N/advance/shifts',
  );
  expect(status).toBe(200);
  return (body as { advanceM: number }[]).map(({ advanceM }) => Number(advanceM));
};

/** Posts the n-th day, of one metre. */
const post = async (service: Served, n: number): Promise<number> => {
  const date = `2027-03-0${n}`;
  const document = aShift(date)
    .withStroke(n, `1+20${n - 1}`, `1+20${n}`, '06:00', '06:40')
    .build();
  const { status } = await supertest(await service.address)
    .put(`/v1/projects/P1/drives/N/shifts/${date}/day`)
    .send(document);
  return status;
};

beforeAll(async () => {
  folder = mkdtempSync(path.join(os.tmpdir(), 'builds-'));
  database = await freshDatabase();
  older = instance(built());
  await older.start();
  await aProject({ http: supertest(await older.address) });
  expect(await post(older, 1)).toBe(201);
});

afterAll(async () => {
  for (const service of instances) await service.end('SIGKILL');
  await database.drop();
  rmSync(folder, { recursive: true });
});

describe('in a rolling upgrade', () => {
  it('an instance of the older build that keeps running, and one that starts again, leave the newer figures and accept shifts', async () => {
    expect(await advance(older)).toEqual([1]);
    newer = instance(writeBuild('newer', COMPATIBLE + NEW_COLUMN));
    await newer.start();
    expect(await advance(newer)).toEqual([1001]);
    expect(await post(older, 2)).toBe(201);
    expect([await advance(older), await advance(newer)]).toEqual([
      [1001, 1001],
      [1001, 1001],
    ]);
    expect(await older.end('SIGTERM')).toBe(0);
    await older.start();
    expect(older.words).toContain(
      `Those of release ${VERSION} (migration 29990101000000_remark), installed by a newer build`,
    );
    expect([await post(older, 3), await post(newer, 4)]).toEqual([201, 201]);
    for (const service of [older, newer]) expect(await advance(service)).toEqual([1001, 1001, 1001, 1001]);
  });

  it('an older build that cannot work with the newer database ends with the reason, and changes nothing', async () => {
    await newer.end('SIGTERM');
    newer = instance(writeBuild('newest', COMPATIBLE + NEW_COLUMN));
    const second = path.join(folder, 'newest', 'prisma', 'migrations', '29990102000000_closed');
    mkdirSync(second);
    writeFileSync(path.join(second, 'migration.sql'), 'alter table public.machine drop column remark;');
    await newer.start();
    await older.end('SIGTERM');
    expect(await older.startOnce()).toContain(
      'The database holds migration 29990102000000_closed, which this build does not know and which older builds cannot work with',
    );
    expect(await advance(newer)).toEqual([1001, 1001, 1001, 1001]);
  });
});

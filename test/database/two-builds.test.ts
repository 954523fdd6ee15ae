import { cpSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { migrate, type MigrationFolders, type MigrationResult } from '../../src/common/database/migrate.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

/** A build: what it ships. */
class Build implements MigrationFolders {
  readonly migrations: string;
  readonly views: string;

  constructor(
    root: string,
    readonly version: string,
    from?: Build,
  ) {
    this.migrations = path.join(root, 'migrations');
    this.views = path.join(root, 'views');
    for (const folder of [this.migrations, this.views]) mkdirSync(folder, { recursive: true });
    if (!from) return;
    cpSync(from.migrations, this.migrations, { recursive: true });
    cpSync(from.views, this.views, { recursive: true });
  }

  migration(name: string, sql: string): this {
    mkdirSync(path.join(this.migrations, name));
    writeFileSync(path.join(this.migrations, name, 'migration.sql'), sql);
    return this;
  }

  view(name: string, sql: string): this {
    writeFileSync(path.join(this.views, `${name}.sql`), sql);
    return this;
  }

  start(url: string, replace = false): Promise<MigrationResult> {
    return migrate(url, this, replace);
  }
}

const COMPATIBLE = '-- compatible: older builds keep working\n';
const TOTAL = 'create or replace view total as select';

let database: TestDatabase;
let client: pg.Client;
let root: string;
let older: Build;
let count = 0;

const newer = (version = '1.1.0'): Build => new Build(path.join(root, String((count += 1))), version, older);

/** The figure that a reader of the database sees. */
const total = async (): Promise<string | undefined> =>
  (await client.query<{ length_m: string }>('select length_m from report.total')).rows[0]?.length_m;

beforeEach(async () => {
  database = await freshDatabase('template0');
  client = new pg.Client({ connectionString: database.url });
  await client.connect();
  root = mkdtempSync(path.join(os.tmpdir(), 'builds-'));
  older = new Build(path.join(root, 'older'), '1.0.0')
    .migration('1_ring', 'create table ring (length_m numeric); insert into ring values (2), (3)')
    .view('total', `${TOTAL} sum(length_m) as length_m from ring`)
    .view(
      'part',
      `create or replace function part(above numeric) returns table (length_m numeric) language sql stable
        begin atomic select r.length_m from ring r where r.length_m >= above; end`,
    );
  await older.start(database.url);
});

afterEach(async () => {
  await client.end();
  await database.drop();
  rmSync(root, { recursive: true });
});

describe('an older build that starts again under a newer one', () => {
  it('leaves the views of the newer version, and works with them', async () => {
    const next = newer().view('total', `${TOTAL} sum(length_m) * 10 as length_m from ring`);
    await next.start(database.url);
    expect(await older.start(database.url)).toEqual({
      applied: [],
      viewsChanged: false,
      newer: '1.1.0 (migration 1_ring)',
    });
    expect(await total()).toBe('50');
    expect(await next.start(database.url)).toEqual({ applied: [], viewsChanged: false });
  });

  it('leaves the views that replaced its own, where both are of one version', async () => {
    const next = newer('1.0.0').view('total', `${TOTAL} sum(length_m) * 10 as length_m from ring`);
    expect((await next.start(database.url)).viewsChanged).toBe(true);
    expect((await older.start(database.url)).newer).toBe('1.0.0 (migration 1_ring)');
    expect(await total()).toBe('50');
  });

  it('keeps working where a migration allows older builds and its views only added', async () => {
    const next = newer()
      .migration('2_width', `${COMPATIBLE}alter table ring add width_m numeric`)
      .view('total', `${TOTAL} sum(length_m) * 10 as length_m, sum(width_m) as width_m from ring`);
    await next.start(database.url);
    expect(await older.start(database.url)).toEqual({
      applied: [],
      viewsChanged: false,
      newer: '1.1.0 (migration 2_width)',
    });
    expect(await total()).toBe('50');
  });

  it('keeps working under a migration of the same version and views', async () => {
    await newer('1.0.0')
      .migration('2_width', `${COMPATIBLE}alter table ring add width_m numeric`)
      .start(database.url);
    expect((await older.start(database.url)).newer).toBe('1.0.0 (migration 2_width)');
  });

  it('does not start where a migration does not allow it', async () => {
    await newer()
      .migration('2_width', 'alter table ring add width_m numeric not null default 0')
      .start(database.url);
    await expect(older.start(database.url)).rejects.toThrow(
      'The database holds migration 2_width, which this build does not know and which older builds cannot work with',
    );
  });

  it('does not start where a column of its views has gone, and names it', async () => {
    const next = newer()
      .migration('2_total', `${COMPATIBLE}drop view report.total`)
      .view('total', `${TOTAL} sum(length_m) as sum_m from ring`);
    await next.start(database.url);
    await expect(older.start(database.url)).rejects.toThrow(
      'upgraded to release 1.1.0 (migration 2_total) by a newer build, and this build cannot work with it: the views lack total.length_m numeric. Run the newer build',
    );
  });

  it('does not start where a function of its views has other parameters or another result', async () => {
    const next = newer()
      .migration('2_part', `${COMPATIBLE}drop function report.part`)
      .view(
        'part',
        `create or replace function part(above numeric) returns table (length_m float8) language sql stable
          begin atomic select r.length_m::float8 from ring r where r.length_m >= above; end`,
      );
    await next.start(database.url);
    await expect(older.start(database.url)).rejects.toThrow(
      'the views lack part(above numeric).length_m numeric',
    );
  });

  it('does not start where its views do not fit the tables', async () => {
    const next = newer()
      .migration('2_rename', `${COMPATIBLE}alter table ring rename length_m to long_m`)
      .view('total', `${TOTAL} sum(long_m) as length_m from ring`);
    rmSync(path.join(next.views, 'part.sql'));
    await next.start(database.url);
    await expect(older.start(database.url)).rejects.toThrow(
      'cannot work with it: View file part.sql failed: column r.length_m does not exist',
    );
    const { rows } = await client.query(`select to_regnamespace('report_of_older_build') as beside`);
    expect(rows).toEqual([{ beside: null }]);
  });

  it('restores its views on request', async () => {
    const next = newer('1.0.0').view('total', `${TOTAL} sum(length_m) * 10 as length_m from ring`);
    await next.start(database.url);
    await older.start(database.url, true);
    expect(await total()).toBe('5');
    expect((await next.start(database.url)).newer).toBe('1.0.0 (migration 1_ring)'); // it is now the replaced one
    expect(await total()).toBe('5');
  });
});

it('a newer build may bring back the views of an earlier one', async () => {
  await newer('1.1.0').view('total', `${TOTAL} sum(length_m) * 10 as length_m from ring`).start(database.url);
  expect((await newer('1.10.0').start(database.url)).viewsChanged).toBe(true); // 10 after 9, not after 1
  expect(await total()).toBe('5');
  expect(
    (await newer('1.9.0').view('total', `${TOTAL} 0.0 as length_m`).start(database.url)).newer,
  ).toContain('1.10.0');
});

it('two builds of different lines do not mix', async () => {
  await newer().migration('2_left', `${COMPATIBLE}select 1`).start(database.url);
  await expect(newer().migration('2_right', 'select 1').start(database.url)).rejects.toThrow(
    'holds migration 2_left, which this build does not know, and lacks 2_right of this build',
  );
});

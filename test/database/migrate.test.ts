import { appendFileSync, mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import os from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { loadConfig } from '../../src/common/config/config.js';
import { Database } from '../../src/common/database/database.js';
import { migrate, type MigrationFolders } from '../../src/common/database/migrate.js';
import { freshDatabase, type TestDatabase } from '../harness/database.js';

describe('migrations and report views', () => {
  let database: TestDatabase;
  let client: pg.Client;
  let root: string;
  let folders: MigrationFolders;

  const migration = (name: string, sql: string): string => {
    const file = path.join(folders.migrations, name, 'migration.sql');
    mkdirSync(path.dirname(file), { recursive: true });
    writeFileSync(file, sql);
    return file;
  };
  const view = (name: string, sql: string): void => writeFileSync(path.join(folders.views, name), sql);
  const run = (): ReturnType<typeof migrate> => migrate(database.url, folders);

  beforeEach(async () => {
    database = await freshDatabase('template0');
    client = new pg.Client({ connectionString: database.url });
    await client.connect();
    root = mkdtempSync(path.join(os.tmpdir(), 'migrations-'));
    folders = {
      migrations: path.join(root, 'migrations'),
      views: path.join(root, 'views'),
      version: '1.0.0',
    };
    mkdirSync(folders.views, { recursive: true });
    migration('1_rings', 'create table ring (number int primary key)');
    migration('2_length', `alter table ring add length_m numeric; insert into ring values (1, 1.8)`);
    view(
      '010_total.sql',
      'create or replace view report.total as select sum(length_m) as length_m from ring',
    );
  });

  afterEach(async () => {
    await client.end();
    await database.drop();
    rmSync(root, { recursive: true });
  });

  it('are applied once, in order', async () => {
    expect(await run()).toEqual({ applied: ['1_rings', '2_length'], viewsChanged: true });
    expect(await run()).toEqual({ applied: [], viewsChanged: false });
    const { rows } = await client.query('select * from report.total');
    expect(rows).toEqual([{ length_m: '1.8' }]);
  });

  it('are applied once by two services that start together', async () => {
    const applied = (await Promise.all([run(), run()])).flatMap((result) => result.applied);
    expect(applied).toEqual(['1_rings', '2_length']);
  });

  it('refuses a migration edited after it was applied', async () => {
    await run();
    appendFileSync(path.join(folders.migrations, '1_rings', 'migration.sql'), ' -- later thought');
    await expect(run()).rejects.toThrow('Migration 1_rings was edited after it was applied');
  });

  it('refuses a database that a newer build has migrated', async () => {
    migration('3_newer', 'select 1');
    await run();
    rmSync(path.join(folders.migrations, '3_newer'), { recursive: true });
    await expect(run()).rejects.toThrow(
      'The database holds migration 3_newer, which this build does not know',
    );
  });

  it('refuses a database in which a migration of the official tool failed', async () => {
    await run();
    await client.query(
      `update _prisma_migrations set finished_at = null, logs = 'out of disk' where migration_name = '2_length'`,
    );
    await expect(run()).rejects.toThrow('Migration 2_length failed before');
  });

  it('leaves nothing of a migration that fails, and applies it once it is corrected', async () => {
    migration('3_wrong', 'create table half (id int); select 1 / 0');
    await expect(run()).rejects.toThrow('Migration 3_wrong failed and was rolled back: division by zero');
    const { rows } = await client.query(`select to_regclass('half') as half, to_regclass('ring') as ring`);
    expect(rows).toEqual([{ half: null, ring: 'ring' }]);
    migration('3_wrong', 'create table half (id int)');
    expect((await run()).applied).toEqual(['3_wrong']);
  });

  it('recreates the views when a file has changed', async () => {
    await run();
    view(
      '010_total.sql',
      'create or replace view report.total as select sum(length_m) * 2 as length_m from ring',
    );
    view(
      '020_half.sql',
      'create or replace view report.half as select length_m / 4 as length_m from report.total',
    );
    expect(await run()).toEqual({ applied: [], viewsChanged: true });
    const { rows } = await client.query('select round(length_m, 2) as length_m from report.half');
    expect(rows).toEqual([{ length_m: '0.90' }]);
    expect((await run()).viewsChanged).toBe(false);
  });

  it('names the view file that fails and keeps the views as they were', async () => {
    await run();
    view('005_new.sql', 'create view report.new as select 1 as one');
    view('020_wrong.sql', 'create view report.wrong as select nothing from ring');
    await expect(run()).rejects.toThrow('View file 020_wrong.sql failed: column "nothing" does not exist');
    const { rows } = await client.query(
      `select to_regclass('report.new') as new, to_regclass('report.total') as total`,
    );
    expect(rows).toEqual([{ new: null, total: 'report.total' }]);
  });

  it('have every session of the database work without the JIT compiler, and the service besides', async () => {
    const migrated = await freshDatabase('template0');
    try {
      await migrate(migrated.url);
      const owner = new pg.Client({ connectionString: migrated.url });
      await owner.connect();
      const shown = await owner.query('show jit');
      // as where the owner of the tables does not own the database
      await owner.query(`alter database ${new URL(migrated.url).pathname.slice(1)} reset jit`);
      await owner.end();
      const service = new Database(migrated.url, 1, loadConfig({}));
      const asked = await service.ask(`select current_setting('jit') as jit`);
      await service.close();
      expect([shown.rows, asked]).toEqual([[{ jit: 'off' }], [{ jit: 'off' }]]);
    } finally {
      await migrated.drop();
    }
  });

  it('leaves the template of the test files with nothing to do', async () => {
    const shipped = await freshDatabase();
    try {
      expect(await migrate(shipped.url)).toEqual({ applied: [], viewsChanged: false });
    } finally {
      await shipped.drop();
    }
  });
});

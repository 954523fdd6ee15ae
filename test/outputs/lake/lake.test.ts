import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { parquetColumns } from '../../../src/common/files/parquet/copy-to-parquet.js';
import { LAKE_TABLES, NO_MONTH, SAMPLES } from '../../../src/features/outputs/lake/lake-tables.js';
import type { Manifest } from '../../../src/features/outputs/lake/manifest.js';
import { ENTITY_SETS } from '../../../src/features/outputs/odata/entity-sets.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { blocksOf } from '../../docs/pages.js';
import { ducked } from '../../harness/duck.js';
import { describeOnce, inLong, itOnce } from '../../harness/sizes.js';
import { bothOf, digestsOf, secondMonth } from './lake.js';

// The lake is read by DuckDB and compared with the views, row by row. Empty tables have no files.

let database: TestDatabase;
let client: pg.Client;
let root: string;
let environment: NodeJS.ProcessEnv;
let count = 0;

const newFolder = (): string => path.join(root, String((count += 1)));

interface Result {
  written: string[];
  removed: string[];
  unchanged: number;
  rows: number;
}

const exported = async (folder: string, ...more: string[]): Promise<Result> => {
  const { status, out, err } = await captured('lake', 'export', folder, '--json', ...more);
  if (status !== 0) throw new Error(err);
  return JSON.parse(out) as Result;
};

const manifestOf = (folder: string): Manifest =>
  JSON.parse(readFileSync(path.join(folder, 'manifest.json'), 'utf8')) as Manifest;

const change = (sql: string) => client.query(`begin; ${sql}; commit`);

beforeAll(async () => {
  environment = { ...process.env };
  root = mkdtempSync(path.join(tmpdir(), 'lake-'));
  database = await freshDatabase();
  process.env.DATABASE_URL = database.url;
  client = new pg.Client({ connectionString: database.url });
  await client.connect();
  await change(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')} ${secondMonth(1)}`);
  await client.query('set search_path = report, public');
});

afterAll(async () => {
  process.env = environment;
  await client.end();
  await database.drop();
  rmSync(root, { recursive: true });
});

describeOnce('a lake', () => {
  let folder: string;

  beforeAll(async () => {
    folder = newFolder();
    await exported(folder);
  });

  it('has a table for each fact and dimension', () => {
    expect(LAKE_TABLES.map(({ name }) => name).sort()).toEqual(Object.keys(ENTITY_SETS).sort());
  });

  it.each([...LAKE_TABLES, SAMPLES].map((table) => [table.name, table] as const))(
    '%s equals its view to the last digit',
    async (_, table) => {
      const { lake, view } = await bothOf(client, folder, table);
      expect(lake).toEqual(view);
    },
  );

  it('has rows in every table for which the record has data', async () => {
    const empty = [];
    for (const table of [...LAKE_TABLES, SAMPLES])
      if ((await bothOf(client, folder, table)).view.length === 0) empty.push(table.name);
    expect(empty).toEqual([]);
  });

  it('declares the digits of each numeric', async () => {
    const undeclared: string[] = [];
    for (const { name, relation, decimals } of LAKE_TABLES) {
      const columns = await parquetColumns(client, relation, decimals);
      // DECIMAL(38,9) is the type of a numeric without a declaration
      for (const { name: column, type } of columns)
        if (type.kind === 'decimal' && type.precision === 38 && type.scale === 9)
          undeclared.push(`${name}.${column}`);
    }
    expect(undeclared).toEqual([]);
  });

  it('is partitioned by project, drive and month in Hive style, and a file has the rows of its folder', async () => {
    const rows = await ducked<{
      n: number;
      project: string;
      month: string | null;
      code: string;
      day: string | null;
    }>(
      `select count(*)::int as n, project, month, project_code as code, strftime(production_day, '%Y-%m') as day from read_parquet('${folder}/fact_boring/**/*.parquet', hive_partitioning = true, hive_types_autocast = false)
       group by all order by all`,
    );
    // for each project one boring in March and one without times; for ALPHA one in April
    expect(rows.map(({ n, project, month, code, day }) => [n, project, month, code, day])).toEqual([
      [1, 'ALPHA', '2027-03', 'ALPHA', '2027-03'],
      [1, 'ALPHA', '2027-04', 'ALPHA', '2027-04'],
      [1, 'ALPHA', null, 'ALPHA', null],
      [1, 'BETA', '2027-03', 'BETA', '2027-03'],
      [1, 'BETA', null, 'BETA', null],
    ]);
    expect(
      existsSync(path.join(folder, `fact_boring/project=BETA/drive=N/month=${NO_MONTH}/data.parquet`)),
    ).toBe(true);
  });

  it('has samples by the month of UTC, in the order of time', async () => {
    const rows = await ducked(
      `select month, count(*)::int as n, min(epoch_us("at"))::varchar as first, max(epoch_us("at"))::varchar as last from read_parquet('${folder}/machine_sample/project=ALPHA/**/*.parquet', hive_partitioning = true, hive_types_autocast = false)
       where "at" >= '2027-03-31' group by month order by month`,
    );
    const micros = (text: string): string => `${Date.parse(text)}000`;
    expect(rows).toEqual([
      {
        month: '2027-03',
        n: 60,
        first: micros('2027-03-31T23:59:00Z'),
        last: micros('2027-03-31T23:59:59Z'),
      },
      {
        month: '2027-04',
        n: 61,
        first: micros('2027-04-01T00:00:00Z'),
        last: micros('2027-04-01T00:01:00Z'),
      },
    ]);
  });

  it('orders the rows of a file along the drive, or by time', async () => {
    const places = await ducked<{ at: string }>(
      `select position_m::varchar as at from '${folder}/machine_sample/project=ALPHA/drive=N/month=2027-04/data.parquet'`,
    );
    expect(places.map(({ at }) => Number(at))).toEqual(places.map((_, n) => (10_060 + n) / 1000));
    expect(
      await ducked(
        `select from_m::varchar as at, line from '${folder}/fact_support_line/project=ALPHA/drive=N/month=2027-04/data.parquet'`,
      ),
    ).toEqual([
      { at: '35.000', line: 2 },
      { at: '40.000', line: 1 },
    ]);
  });

  it('has a manifest of all files, with rows, digests, columns and the latest change included', async () => {
    const manifest = manifestOf(folder);
    const digests = digestsOf(folder);
    expect(Object.fromEntries(manifest.files.map(({ path: name, sha256 }) => [name, sha256]))).toEqual(
      digests,
    );
    const { rows } = await client.query<{ code: string; number: number }>(
      'select p.code, max(c.number)::int as number from project p join history.change c on c.project_id = p.id group by 1',
    );
    for (const { code, number } of rows) expect(manifest.projects[code]?.changeNumber).toBe(number);
    for (const { table, path: name, rows: count, bytes } of manifest.files) {
      expect(statSync(path.join(folder, name)).size).toBe(bytes);
      expect(await ducked(`select count(*)::int as n from '${folder}/${name}'`)).toEqual([{ n: count }]);
      const described = await ducked<{ name: string; type: string }>(
        `select column_name as name, column_type as type from (describe select * from read_parquet('${folder}/${name}', hive_partitioning = false))`,
      );
      expect(
        manifest.tables[table]?.columns.map(({ name: column, type }) => ({ name: column, type })),
      ).toEqual(described);
    }
    const hours = manifest.tables['fact_activity_part']?.columns.find(({ name }) => name === 'hours');
    expect(hours).toEqual({
      name: 'hours',
      type: 'DECIMAL(38,24)',
      description: expect.stringContaining('[h]'),
    });
  });

  it('can be read by DuckDB, and declared to Trino, as in the guide', async () => {
    const [duck = '', trino = ''] = ['SQL of DuckDB', 'SQL of Trino'].map(
      (tool) => blocksOf('docs/guide/lake.md').find(({ notRun }) => notRun?.startsWith(tool))?.text,
    );
    const { rows } = await client.query(
      `select iso_week, sum(advance_m)::text as advance_m from fact_boring b join dim_date d on d.date = b.production_day where project_code = 'ALPHA' group by 1 order by 1`,
    );
    const read = await ducked<{ iso_week: string; advance_m: string }>(
      duck.replaceAll('/srv/lake', folder).replace("'TRIAL'", "'ALPHA'"),
    );
    expect(read.map(({ iso_week, advance_m }) => [iso_week, Number(advance_m)])).toEqual(
      rows.map(({ iso_week, advance_m }: { iso_week: string; advance_m: string }) => [
        iso_week,
        Number(advance_m),
      ]),
    );
    const inflow = manifestOf(folder).tables['fact_inflow'];
    const columns = [
      ...(inflow?.columns.map(({ name, type }) => `${name} ${type.replace('TIMESTAMP', 'TIMESTAMP(6)')}`) ??
        []),
      ...(inflow?.partitionedBy.map((part) => `${part} VARCHAR`) ?? []),
    ];
    expect(trino.replaceAll(/\s+/g, ' ').toLowerCase()).toContain(`( ${columns.join(', ')} )`.toLowerCase());
  });

  it('can be verified, naming what was altered, is missing or does not belong', async () => {
    const copy = newFolder();
    cpSync(folder, copy, { recursive: true });
    expect(await captured('lake', 'verify', copy)).toMatchObject({ status: 0, err: '' });
    appendFileSync(path.join(copy, 'dim_date/data.parquet'), ' ');
    rmSync(path.join(copy, 'dim_project/project=BETA/data.parquet'));
    cpSync(path.join(folder, 'dim_date/data.parquet'), path.join(copy, 'dim_date/other.parquet'));
    const { status, out } = await captured('lake', 'verify', copy, '--json');
    expect([status, (JSON.parse(out) as { faults: string[] }).faults]).toEqual([
      1,
      [
        'dim_date/data.parquet differs from its digest.',
        'dim_project/project=BETA/data.parquet is missing.',
        'dim_date/other.parquet is not in the manifest.',
      ],
    ]);
    const { written } = await exported(copy);
    expect(written.sort()).toEqual(['dim_date/data.parquet', 'dim_project/project=BETA/data.parquet']);
  });
});

describe('an export', () => {
  itOnce('after nothing has changed writes nothing; after one shift, the files of its month', async () => {
    const folder = newFolder();
    const first = await exported(folder);
    const before = digestsOf(folder);
    expect(await exported(folder)).toEqual({
      written: [],
      removed: [],
      unchanged: first.written.length,
      rows: first.rows,
    });
    await change(
      `update shift set digest = 'april again' where id = 170; update support_installed set quantity = 7 where id = 170`,
    );
    const { written, removed } = await exported(folder);
    const april = ['dim_shift', 'fact_activity_part', 'fact_boring', 'fact_support_line'].map(
      (name) => `${name}/project=ALPHA/drive=N/month=2027-04/data.parquet`,
    );
    expect([written.sort(), removed]).toEqual([april, []]);
    const after = digestsOf(folder);
    expect(Object.keys(after).filter((name) => after[name] !== before[name])).toEqual(april);
    const { files, projects } = manifestOf(folder);
    const number = projects['ALPHA']?.changeNumber as number;
    for (const { project, table, path: name, changeNumber } of files)
      if (project === 'ALPHA' && table !== SAMPLES.name)
        expect([name, changeNumber === number]).toEqual([name, april.includes(name)]);
    for (const table of LAKE_TABLES) {
      const { lake, view } = await bothOf(client, folder, table);
      expect(lake).toEqual(view);
    }
  });

  inLong(() => {
    it('removes the files of a shift that is gone, with their folders', async () => {
      const folder = newFolder();
      await change(`insert into shift (id, project_id, drive_id, shift_date, calendar_shift_id, starts_at, ends_at, state, digest)
        values (171, 1, 1, '2027-05-03', 100, '2027-05-03 06:00Z', '2027-05-03 18:00Z', 'draft', 'may')`);
      await exported(folder);
      const may = 'dim_shift/project=ALPHA/drive=N/month=2027-05';
      expect(existsSync(path.join(folder, may))).toBe(true);
      await change('delete from shift where id = 171');
      const { removed, written } = await exported(folder);
      expect([removed, written]).toEqual([[`${may}/data.parquet`], ['dim_date/data.parquet']]);
      expect(existsSync(path.join(folder, may))).toBe(false);
    });

    it('of one project leaves the others unchanged', async () => {
      const folder = newFolder();
      await exported(folder, '--project', 'BETA');
      expect(new Set(manifestOf(folder).files.map(({ project }) => project))).toEqual(
        new Set([undefined, 'BETA']),
      );
      await exported(folder);
      const before = digestsOf(folder);
      const { written } = await exported(folder, '--project', 'ALPHA');
      expect([written, digestsOf(folder)]).toEqual([[], before]);
    });

    it('writes a month with new samples again, and keeps detached and dropped ones', async () => {
      const folder = newFolder();
      await exported(folder);
      const of = (month: string): string =>
        `machine_sample/project=ALPHA/drive=N/month=${month}/data.parquet`;
      await client.query(
        `insert into machine_sample (project_id, drive_id, at, position_m) values (1, 1, '2027-04-02 06:00:00.5Z', 11)`,
      );
      expect((await exported(folder)).written).toEqual([of('2027-04')]);
      expect(await ducked(`select count(*)::int as n from '${folder}/${of('2027-04')}'`)).toEqual([
        { n: 62 },
      ]);
      const archive = path.join(root, 'april.csv');
      for (const args of [
        ['detach', '2027-04'],
        ['archive', '2027-04', archive],
      ]) {
        expect(await captured('samples', ...args)).toMatchObject({ status: 0 });
        expect(await exported(folder)).toMatchObject({ written: [], removed: [] });
      }
      expect(await captured('samples', 'drop', '2027-04', '--archive', archive)).toMatchObject({ status: 0 });
      expect(await exported(folder)).toMatchObject({ written: [], removed: [] });
      expect(existsSync(path.join(folder, of('2027-04')))).toBe(true);
    });

    it('is refused where another one runs, the folder has something else, or the project does not exist', async () => {
      const folder = newFolder();
      await exported(folder, '--project', 'BETA');
      const before = digestsOf(folder);
      await client.query(`select pg_advisory_lock(hashtext('drivebook.lake'), hashtext($1))`, [folder]);
      expect(await captured('lake', 'export', folder)).toMatchObject({
        status: 1,
        err: `Another export is writing into ${folder}.\n`,
      });
      await client.query('select pg_advisory_unlock_all()');
      expect(await captured('lake', 'export', folder, '--project', 'GAMMA')).toMatchObject({
        status: 1,
        err: 'There is no project GAMMA.\n',
      });
      expect(digestsOf(folder)).toEqual(before);
      const other = newFolder();
      mkdirSync(other);
      writeFileSync(path.join(other, 'notes.txt'), 'of somebody');
      expect(await captured('lake', 'export', other)).toMatchObject({
        status: 1,
        err: `${other} has other files in it, and no manifest of a lake: name an empty folder, or a new one.\n`,
      });
      writeFileSync(path.join(other, 'manifest.json'), '{"name": "of somebody"}');
      expect(await captured('lake', 'export', other)).toMatchObject({
        status: 1,
        err: `${other}/manifest.json is not the manifest of a lake in format 1: name another folder.\n`,
      });
      expect(await captured('lake', 'verify', root)).toMatchObject({
        status: 1,
        err: `${root} has no manifest.json: it is not a lake, or its first export has not ended.\n`,
      });
    });
  });
});

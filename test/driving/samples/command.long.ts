import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { csv, MAP, standing } from './samples.js';

let app: TestApp;
let folder: string;
const { DATABASE_URL } = process.env;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env.DATABASE_URL = app.url;
  folder = mkdtempSync(path.join(tmpdir(), 'drivebook-samples-'));
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  rmSync(folder, { recursive: true });
  await app.close();
});

beforeEach(() => app.sql('delete from machine_sample'));

const saved = (name: string, text: string): string => {
  const file = path.join(folder, name);
  writeFileSync(file, text);
  return file;
};

const run = (...args: string[]): ReturnType<typeof captured> => captured('import', 'samples', ...args);

const on = ['--project', 'P1', '--drive', 'N'];
const mapped = [...on, '--map', JSON.stringify(MAP)];

describe('drivebook import samples', () => {
  it('imports a table, once only', async () => {
    const file = saved('logger.csv', csv());
    const first = await run(file, ...mapped);
    const span = 'from 2027-03-01T06:00:00Z to 2027-03-01T06:00:20Z';
    expect(first).toMatchObject({
      status: 0,
      out: `3 samples: 3 taken, 0 there already, 0 rejected; ${span}.\n`,
      err: '',
    });
    expect(await standing(app)).toMatchObject([{ m: '0.000' }, { m: '0.006', thrust: 9250 }, { m: '0.010' }]);
    const second = await run(file, ...mapped);
    expect([second.status, second.out]).toEqual([
      0,
      `3 samples: 0 taken, 3 there already, 0 rejected; ${span}.\n`,
    ]);
  });

  it('reads the map from a file, and the table by its delimiter', async () => {
    const map = saved('map.json', JSON.stringify(MAP));
    const file = saved('semicolons.csv', csv().replaceAll(',', ';'));
    const { status } = await run(file, ...on, '--map', map, '--delimiter', ';');
    expect([status, (await standing(app)).length]).toEqual([0, 3]);
    const { err } = await run(file, ...on, '--map', map);
    expect(err).toBe(
      'with comma as the delimiter the heading row is one column; it holds a semicolon: name the delimiter that the file uses\n',
    );
  });

  it('imports lines of JSON without a map', async () => {
    const file = saved(
      'logger.ndjson',
      '{"at": "2027-03-01T06:00:00Z", "chainage": "1+200.5", "torqueKnm": 900}',
    );
    expect(await run(file, ...on)).toMatchObject({ status: 0, err: '' });
    expect(await standing(app)).toMatchObject([{ m: '0.500' }]);
  });

  it('reports the rows that it rejects, imports the others, and exits with its own status', async () => {
    const file = saved('bad.csv', csv(['2027-03-01T06:00:00Z,0,0,0,', '2027-03-01 06:00:10,0,0,0,', 'x']));
    const { status, out } = await run(file, ...mapped);
    expect(out.split('\n')).toEqual([
      expect.stringMatching(/^line 3 {2}rejected {2}at is "2027-03-01 06:00:10"; it must be a moment/),
      'line 4  rejected  the row has 1 columns, but the heading row has 5',
      '3 samples: 1 taken, 0 there already, 2 rejected; from 2027-03-01T06:00:00Z to 2027-03-01T06:00:00Z.',
      '',
    ]);
    expect([status, (await standing(app)).length]).toEqual([1, 1]);
  });

  it('reports the first hundred of them, and how many more there are', async () => {
    const rows = Array.from({ length: 103 }, () => 'x');
    const { out } = await run(saved('many.csv', csv(['2027-03-01T06:00:00Z,0,0,0,', ...rows])), ...mapped);
    const lines = out.split('\n');
    expect([lines.length, lines[100]]).toEqual([103, '… and 3 more rejected']);
  });

  it.each([
    [
      'no row can be taken',
      csv(['x']),
      mapped,
      /^none of the 1 rows is valid; see errors\n {2}\/lines\/2: the row has 1/,
    ],
    [
      'a column is not there',
      csv([], 'a,b,c'),
      mapped,
      /^4 faults; see errors\n {2}\/map\/at: the table has no column "Time"/,
    ],
    [
      'there is no such drive',
      csv(),
      ['--project', 'P1', '--drive', 'X'],
      /^There is no drive X in project P1\.\n$/,
    ],
    ['there is no such project', csv(), ['--project', 'PX', '--drive', 'N'], /^There is no project PX\.\n$/],
  ])('is refused when %s', async (_name, text, args, said) => {
    const { status, err } = await run(saved('refused.csv', text), ...args);
    expect([status, err]).toEqual([1, expect.stringMatching(said)]);
    expect(await standing(app)).toEqual([]);
  });

  it('names a file that does not exist', async () => {
    const { status, err } = await run(path.join(folder, 'none.csv'), ...mapped);
    expect([status, err]).toEqual([1, expect.stringContaining('none.csv')]);
  });

  it.each([
    ['no file', [...on], "missing required argument 'file'"],
    ['no drive', ['a.csv', '--project', 'P1'], "required option '--drive <code>' not specified"],
    ['an unknown option', ['a.csv', ...on, '--force'], '--force'],
    ['two files', ['a.csv', 'b.csv', ...on], 'too many arguments'],
    ['a delimiter of JSON', ['a.ndjson', ...on, '--delimiter', ';'], '--delimiter needs --map'],
  ])('does not understand %s', async (_name, args, said) => {
    const { status, err } = await run(...args);
    expect([status, err]).toEqual([2, expect.stringContaining(said)]);
    expect(err).toContain('Add --help for the usage.');
  });

  it('prints its usage when asked', async () => {
    expect(await run('--help')).toMatchObject({ status: 0, out: expect.stringContaining('"at": "Time"') });
    expect(await captured('import', '--help')).toMatchObject({
      status: 0,
      out: expect.stringContaining('samples'),
    });
  });
});

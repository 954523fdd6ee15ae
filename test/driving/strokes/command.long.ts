import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { csv, MAP } from './tables.js';

let app: TestApp;
let folder: string;
const { DATABASE_URL } = process.env;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  process.env.DATABASE_URL = app.url;
  folder = mkdtempSync(path.join(tmpdir(), 'drivebook-strokes-'));
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  rmSync(folder, { recursive: true });
  await app.close();
});

beforeEach(() => app.sql('delete from boring'));

const saved = (name: string, text: string): string => {
  const file = path.join(folder, name);
  writeFileSync(file, text);
  return file;
};

const run = (...args: string[]): ReturnType<typeof captured> => captured('import', ...args);

const on = ['--project', 'P1', '--drive', 'N', '--map', JSON.stringify(MAP)];
const standing = async () => (await app.sql('select stroke_number from boring')).length;

describe('drivebook import strokes', () => {
  it('imports a table, and reports its strokes, metres and what it changed', async () => {
    const file = saved('gaps.csv', csv(['1,0,1.69,', '2,1.7,3.4,']));
    const { status, out } = await run('strokes', file, ...on, '--close-gaps', '0.010');
    expect(out).toBe(
      'row 2  1  created  to 1.690 moved to 1.700: 0.010 m gap closed\n' +
        '2 rows: 2 created, 0 unchanged, 0 updated, 0 rejected; 3.400 m.\n',
    );
    expect([status, await standing()]).toEqual([0, 2]);
  });

  it('reads the map from a file, and the table by its delimiter', async () => {
    const map = saved('map.json', JSON.stringify(MAP));
    const file = saved('semicolons.csv', csv().replaceAll(',', ';'));
    const { status } = await run(
      'strokes',
      file,
      '--project',
      'P1',
      '--drive',
      'N',
      '--map',
      map,
      '--delimiter',
      ';',
    );
    expect([status, await standing()]).toEqual([0, 3]);
  });

  it('writes nothing in a dry run', async () => {
    const { status, out } = await run('strokes', saved('dry.csv', csv()), ...on, '--dry-run');
    expect(out).toContain(
      '3 rows: 3 created, 0 unchanged, 0 updated, 0 rejected; 5.100 m.\nDry run: nothing was written.\n',
    );
    expect([status, await standing()]).toEqual([0, 0]);
  });

  it.each([[['--dry-run']], [[]]])('refuses a table and lists the rejected rows, %j', async (more) => {
    const { status, out, err } = await run(
      'strokes',
      saved('bad.csv', csv(['1,0,1.7,', '2,1.7,x,'])),
      ...on,
      ...more,
    );
    expect(out + err).toMatch(/^row 3 {2}2 {2}rejected {2}toM is "x"/);
    expect(out).toContain('2 rows: 1 created, 0 unchanged, 0 updated, 1 rejected; 1.700 m.\n');
    expect(out + err).toMatch(/(Refused|Dry run): nothing was written\.\n/);
    expect([status, await standing()]).toEqual([1, 0]);
  });

  it('replaces what was imported before', async () => {
    await run('strokes', saved('first.csv', csv()), ...on);
    const { out } = await run('strokes', saved('second.csv', csv(['1,0,1.7,9000'])), ...on, '--replace');
    expect(out).toBe('1 row: 0 created, 1 unchanged, 0 updated, 0 rejected, 2 removed; 1.700 m.\n');
    expect(await standing()).toBe(1);
  });

  it('reports every fault of a map', async () => {
    const map = JSON.stringify({ ...MAP, thrust: 'No', torque: 'No' });
    const { status, err } = await run(
      'strokes',
      saved('map.csv', csv()),
      '--project',
      'P1',
      '--drive',
      'N',
      '--map',
      map,
    );
    expect(err).toMatch(/\/map\/thrust: thrust is not a field[^]*\/map\/torque: torque is not a field/);
    expect(status).toBe(1);
  });

  it('names a file that does not exist', async () => {
    const { status, err } = await run('strokes', path.join(folder, 'none.csv'), ...on);
    expect([status, err]).toEqual([1, expect.stringContaining('none.csv')]);
  });

  it.each([
    ['no table', ['strokes', ...on], "missing required argument 'file'"],
    ['no drive', ['strokes', 'a.csv'], "required option '--project <code>' not specified"],
    ['an unknown option', ['strokes', 'a.csv', ...on, '--force'], '--force'],
    ['two tables', ['strokes', 'a.csv', 'b.csv', ...on], 'too many arguments'],
    ['something else', ['metres', 'a.csv'], "unknown command 'metres'"],
  ])('does not understand %s', async (_name, args, said) => {
    const { status, err } = await run(...args);
    expect([status, err]).toEqual([2, expect.stringContaining(said)]);
    expect(err).toContain('Add --help for the usage.');
  });

  it('prints its usage when asked', async () => {
    const { status, out } = await run('strokes', '--help');
    expect([status, out]).toEqual([0, expect.stringContaining('--close-gaps')]);
  });
});

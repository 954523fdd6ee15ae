import { chmodSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { captured } from '../harness/captured-command.js';

const { DATA_DIR, DATABASE_URL } = process.env;

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'mistyped-'));
  chmodSync(folder, 0o755); // root's PostgreSQL runs as another user
  process.env.DATA_DIR = folder;
  delete process.env.DATABASE_URL;
});

afterAll(() => {
  for (const [name, value] of Object.entries({ DATA_DIR, DATABASE_URL }))
    if (value === undefined) delete process.env[name];
    else process.env[name] = value;
  rmSync(folder, { recursive: true });
});

const P1 = ['--project', 'P1'];

it.each([
  [['audit', 'verify']],
  [['backup', 'backup.gz']],
  [['person', 'list', ...P1]],
  [['bi', 'list']],
  [['administrator', 'list']],
  [['administrator', 'remove', 'anna']],
  [['views', 'replace']],
])('%j creates no database in a folder that has none', async ([command = '', ...args]) => {
  expect(await captured(command, ...args)).toMatchObject({
    status: 1,
    out: '',
    err: expect.stringContaining(
      `There is no database in the data folder ${folder}: name the folder by DATA_DIR`,
    ),
  });
  expect(readdirSync(folder)).toEqual([]);
});

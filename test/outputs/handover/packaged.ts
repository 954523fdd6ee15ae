import { createHash } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { spawnSync } from 'node:child_process';
import pg from 'pg';
import { Database } from '../../../src/common/database/database.js';
import { Workers } from '../../../src/common/work/workers.js';
import { commandScope } from '../../../src/commands/command-scope.js';
import {
  type HandoverRequest,
  type HandoverResult,
  writeHandover,
} from '../../../src/features/outputs/handover/write-handover.js';
import { wholeRecord } from '../../builders/whole-record.js';
import type { TestDatabase } from '../../harness/database.js';

/** Two projects with rows in every table; the photos of both are in the attachments folder. */
export const twoProjects = async (database: TestDatabase, attachmentsDir: string): Promise<void> => {
  const client = new pg.Client({ connectionString: database.url });
  await client.connect();
  await client.query(`begin; ${wholeRecord(1, 'ALPHA')}; commit; begin; ${wholeRecord(2, 'BETA')}; commit`);
  await client.query(
    `update ground_class set description = E'tab\\t, line\\n, "quoted", back\\\\slash and größer' where id = 100;
     update equipment set description = '=1+1' where id = 100`,
  );
  await client.end();
  for (const [project, code] of [
    [1, 'ALPHA'],
    [2, 'BETA'],
  ] as const) {
    const digest = createHash('sha256').update(`photo of ${code}`).digest('hex');
    const place = path.join(attachmentsDir, String(project), digest.slice(0, 2), digest.slice(2, 4));
    mkdirSync(place, { recursive: true });
    writeFileSync(path.join(place, digest), `photo of ${code}`);
  }
};

/** Writes a package of ALPHA. */
export const packaged = async (
  { url }: TestDatabase,
  asked: Partial<HandoverRequest> & Pick<HandoverRequest, 'target'>,
): Promise<HandoverResult> => {
  const database = new Database(url, 1);
  const workers = new Workers();
  try {
    const scope = await commandScope(database, 'ALPHA');
    return await writeHandover({ url, scope, version: '0.0.0-test', workers, ...asked });
  } finally {
    await workers.close();
    await database.close();
  }
};

/** The files below a folder, by relative path. */
export const filesOf = (folder: string): Map<string, Buffer> =>
  new Map(
    readdirSync(folder, { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile())
      .map((entry): [string, Buffer] => {
        const file = path.join(entry.parentPath, entry.name);
        return [path.relative(folder, file).split(path.sep).join('/'), readFileSync(file)];
      })
      .sort(([a], [b]) => (a < b ? -1 : 1)),
  );

/** The result of a package's own script, run by Node alone. */
export const verified = (folder: string): { status: number | null; faults: string[]; out: string } => {
  const { status, stdout, stderr } = spawnSync(process.execPath, [path.join(folder, 'verify.mjs')], {
    encoding: 'utf8',
    env: {},
  });
  const out = stdout + stderr;
  return {
    status,
    out,
    faults: out
      .split('\n')
      .filter((line) => line.startsWith('NOT SOUND: '))
      .map((line) => line.slice('NOT SOUND: '.length)),
  };
};

const digestOf = (content: string | Buffer): string => createHash('sha256').update(content).digest('hex');

/** Updates the manifest to match a changed file, as somebody would who wants the change to pass. */
export const entered = (copy: string, name: string, rows?: number): void => {
  const file = path.join(copy, 'manifest.json');
  const manifest = JSON.parse(readFileSync(file, 'utf8')) as {
    files: { path: string; bytes: number; sha256: string; rows?: number }[];
  };
  const content = readFileSync(path.join(copy, name));
  for (const each of manifest.files)
    if (each.path === name)
      Object.assign(each, {
        bytes: content.length,
        sha256: digestOf(content),
        ...(rows === undefined ? {} : { rows }),
      });
  const text = `${JSON.stringify(manifest, undefined, 1)}\n`;
  writeFileSync(file, text);
  writeFileSync(
    path.join(copy, 'SHA256SUMS'),
    [...manifest.files, { path: 'manifest.json', sha256: digestOf(text) }]
      .map((each) => `${each.sha256}  ${each.path}\n`)
      .join(''),
  );
};

import { readdir, stat } from 'node:fs/promises';
import path from 'node:path';
import type pg from 'pg';
import { loadConfig } from '../common/config/config.js';
import { sha256Of } from '../common/files/disk.js';
import { RESULTS } from '../common/jobs/job-results.js';
import { filePath, INCOMING } from '../common/files/file-places.js';
import { attachmentsDirOf } from '../common/database/ready-database.js';
import { type AddCommand, notes, ON_DATABASE, printEach, withJson } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';

const PROJECTS = `select id, code from project where $1::text is null or code = $1 order by code`;

/** Each file content of a project once, under the name in its newest version. */
const KEPT = `select distinct on (f.digest) f.digest, f.file_name as "fileName", d.code as drive,
    not exists (select from attached_file a where a.project_id = f.project_id and a.digest = f.digest) as removed
  from history.attached_file f join drive d on d.id = f.drive_id
  where f.project_id = $1 order by f.digest, f.to_change desc`;

interface Project {
  id: number;
  code: string;
}

interface Kept {
  digest: string;
  fileName: string;
  drive: string;
  removed: boolean;
}

/** A partial upload older than this was left behind. [ms] */
const COMING_MS = 3_600_000;

const isAbsent = (error: unknown): boolean =>
  ['ENOENT', 'ENOTDIR'].includes(String((error as NodeJS.ErrnoException).code));

/** All files below a folder; empty when the folder does not exist. */
const filesBelow = async (folder: string): Promise<string[]> => {
  try {
    const entries = await readdir(folder, { recursive: true, withFileTypes: true });
    return entries
      .filter((entry) => !entry.isDirectory())
      .map(({ parentPath, name }) => path.join(parentPath, name));
  } catch (error) {
    if (isAbsent(error)) return [];
    throw error;
  }
};

/** SHA-256 of a file; undefined when it does not exist. */
const digestOf = async (file: string): Promise<string | undefined> => {
  try {
    return await sha256Of(file);
  } catch (error) {
    if (isAbsent(error)) return undefined;
    throw error;
  }
};

/** Whether an upload is still writing the file, or has only just ended. */
const isComing = async (file: string): Promise<boolean> => {
  try {
    return Date.now() - (await stat(file)).mtimeMs < COMING_MS;
  } catch (error) {
    if (isAbsent(error)) return true;
    throw error;
  }
};

interface Fault {
  fault: 'missing' | 'altered' | 'orphaned';
  /** of an orphaned file, below the folder */
  path?: string;
  digest?: string;
  fileName?: string;
  drive?: string;
  /** whether the attachment was removed from the record */
  removed?: boolean;
}

/** The files of a project; without a project, those that belong to none. */
interface Checked {
  project?: string;
  files: number;
  faults: Fault[];
}

const faultInWords = ({ fault, path: orphan, digest, fileName, drive, removed }: Fault): string =>
  `${fault}: ${orphan ?? `${digest}, ${fileName} of drive ${drive}${removed ? ', removed from the record' : ''}`}`;

const inWords = ({ project, files, faults }: Checked): string => {
  const of = project === undefined ? '' : `${project}: `;
  const found = faults.length > 0 ? faults.map(faultInWords) : [`sound, ${files} files`];
  return found.map((each) => of + each).join('\n');
};

const verifyProject = async (client: pg.Client, folder: string, { id, code }: Project): Promise<Checked> => {
  const found = await filesBelow(path.join(folder, String(id))); // before the rows: files are written before their rows
  const { rows } = await client.query<Kept>(KEPT, [id]);
  const faults: Fault[] = [];
  for (const kept of rows) {
    const digested = await digestOf(filePath(folder, id, kept.digest));
    if (digested === undefined) faults.push({ fault: 'missing', ...kept });
    else if (digested !== kept.digest) faults.push({ fault: 'altered', ...kept });
  }
  const known = new Set(rows.map(({ digest }) => filePath(folder, id, digest)));
  for (const file of found.filter((each) => !known.has(each)).sort())
    faults.push({ fault: 'orphaned', path: path.relative(folder, file) });
  return { project: code, files: rows.length, faults };
};

/** Checks what lies in the folder but belongs to no project. */
const verifyRest = async (folder: string, projects: Project[]): Promise<Checked> => {
  const own = new Set(projects.map(({ id }) => String(id)));
  const faults: Fault[] = [];
  for (const file of (await filesBelow(folder)).sort()) {
    const relative = path.relative(folder, file);
    const [top = ''] = relative.split(path.sep);
    if (own.has(top)) continue;
    if (top === INCOMING && (await isComing(file))) continue;
    if (top === RESULTS) continue; // results of jobs, which are temporary
    faults.push({ fault: 'orphaned', path: relative });
  }
  return { files: faults.length, faults };
};

async function* verified(
  client: pg.Client,
  folder: string,
  project: string | undefined,
): AsyncGenerator<Checked> {
  const { rows: projects } = await client.query<Project>(PROJECTS, [project]);
  if (project !== undefined && projects.length === 0) throw new Error(`There is no project ${project}.`);
  for (const each of projects) yield await verifyProject(client, folder, each);
  const rest = project === undefined ? await verifyRest(folder, projects) : undefined;
  if (rest && rest.files > 0) yield rest;
}

interface Options {
  project?: string;
  json?: boolean;
}

const verify = async ({ project, json }: Options): Promise<number> => {
  const config = loadConfig();
  const ready = await commandDatabase(config);
  try {
    const folder = attachmentsDirOf(config, ready);
    if (folder === undefined) throw new Error('ATTACHMENTS_DIR is not set: there is no folder to look at.');
    return await asOwner(ready, async (client) => {
      const checked = await printEach(verified(client, folder, project), json, inWords);
      return checked.every(({ faults }) => faults.length === 0) ? 0 : 1;
    });
  } finally {
    await ready.stop();
  }
};

const EXAMPLES = `Examples:
  drivebook attachments verify
  drivebook attachments verify --project TRIAL

The folder is ATTACHMENTS_DIR, or "attachments" in the data folder of the embedded database.
${ON_DATABASE}`;

/** `drivebook attachments verify`: checks the files of attachments against the record. */
export const addAttachments: AddCommand = (program, finish) => {
  const attachments = program.command('attachments').description('check the files of attachments');
  const command = attachments
    .command('verify')
    .summary('check every file against the record')
    .description(
      'Hashes the files of the attachments of a project, or of all, including those removed from the record, which its history still names. Names missing and altered files, and files that belong to no attachment: left by an upload whose transaction failed, or put there by somebody. It changes nothing.',
    )
    .option('--project <code>', 'code of the project; default: all')
    .action(async (options: Options) => finish(await verify(options)));
  for (const each of [attachments, withJson(command)]) notes(each, EXAMPLES);
};

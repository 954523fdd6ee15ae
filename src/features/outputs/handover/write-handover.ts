import { mkdtemp, readFile, rm } from 'node:fs/promises';
import path from 'node:path';
import { notFound } from '../../../common/api/problem.js';
import { Database } from '../../../common/database/database.js';
import { inScope, type Scope } from '../../../common/database/scope.js';
import { packageRoot } from '../../../common/package-root.js';
import type { Workers } from '../../../common/work/workers.js';
import { type AuditHead, PACKAGE_FORMAT } from '../../../backup/format.js';
import { addAttachments } from './attached.js';
import { addChain } from './chain.js';
import { csvOfRows, dictionary, FactSource } from './facts.js';
import { PackageFiles } from './package-files.js';
import { addPapers } from './papers.js';
import { readme } from './readme.js';
import { addRecord } from './record-copy.js';
import { addSamples } from './samples.js';
import { addShifts } from './shift-documents.js';
import { Snapshot } from './snapshot.js';

export interface HandoverRequest {
  /** database URL for the service's role */
  url: string;
  scope: Scope;
  /** a new folder, or a new file that ends in .zip */
  target: string;
  /** code of a drive; undefined: the whole project */
  drive?: string;
  /** folder of the attachments; undefined if unknown */
  attachmentsDir?: string;
  /** lake with the samples of months taken out of the record; undefined: those are not included */
  lake?: string;
  version: string;
  workers: Workers;
  /** reports the current step and the completed percentage, 0 to 100 */
  progress?(percent: number, step: string): void;
  /** cancels it; nothing is left behind */
  signal?: AbortSignal;
}

export interface HandoverResult {
  project: string;
  drive?: string;
  madeAt: string;
  files: number;
  bytes: number;
  /** SHA-256 of manifest.json, to be recorded elsewhere */
  manifest: string;
  head: AuditHead;
  entries: number;
  withheld: number[];
  /** Months taken out of the record whose samples are not included. */
  missingSamples: string[];
}

const DOCS = ['calculations.md', 'glossary.md', 'openapi.json', 'schema.gql'];

/** The parts, with their share of the time. [%] */
const STEPS = { attachments: 8, audit: 8, facts: 10, samples: 6, record: 6, shifts: 23, papers: 39 } as const;

interface Project {
  name: string;
  timeZone: string;
  currency: string;
}

const PROJECT = `select name, time_zone as "timeZone", currency from project where id = $1`;
const DRIVE = `select id from drive where code = $1`;

const addFacts = async (
  files: PackageFiles,
  source: FactSource,
  scratch: string,
  progress: (share: number) => void,
): Promise<void> => {
  const views = await source.views();
  for (const [index, view] of views.entries()) {
    let rows = 0;
    const table = csvOfRows(view.columns, source.rows(view), (count) => (rows += count));
    await files.add(`facts/${view.name}.csv`, table, () => rows);
    const parquet = path.join(scratch, `${view.name}.parquet`);
    await source.writeParquet(view, parquet);
    await files.move(`facts/${view.name}.parquet`, parquet);
    progress((index + 1) / views.length);
  }
  await files.add('facts/dictionary.md', dictionary(views));
};

const addDocs = async (files: PackageFiles): Promise<void> => {
  for (const name of DOCS)
    await files.add(`docs/${name}`, await readFile(path.join(packageRoot, 'docs', name)));
  await files.add('verify.mjs', await readFile(path.join(packageRoot, 'src/assets/handover/verify.mjs')));
};

/** @throws Error when the project or the drive does not exist */
const found = async (
  snapshot: Snapshot,
  { scope: { project }, drive }: HandoverRequest,
): Promise<Project & { driveId?: number }> => {
  const [known] = await snapshot.query<Project>(PROJECT, [snapshot.projectId]);
  if (!known) throw notFound(`project ${project}`);
  if (drive === undefined) return known;
  const [{ id: driveId } = {}] = await snapshot.query<{ id: number }>(DRIVE, [drive]);
  if (driveId === undefined) throw notFound(`drive ${drive} in project ${project}`);
  return { ...known, driveId };
};

/** Completes a package: its description, its content, and the digests. @returns the digest of the manifest */
const addManifest = async (files: PackageFiles, head: object): Promise<string> => {
  const listed = [...files.files];
  const manifest = await files.add(
    'manifest.json',
    `${JSON.stringify({ ...head, files: listed }, undefined, 1)}\n`,
  );
  await files.add(
    'SHA256SUMS',
    [...listed, manifest].map((file) => `${file.sha256}  ${file.path}\n`).join(''),
  );
  return manifest.sha256;
};

const written = async (
  asked: HandoverRequest,
  snapshot: Snapshot,
  database: Database,
): Promise<HandoverResult> => {
  const { scope, target, drive, version, workers, signal } = asked;
  const { driveId, name, timeZone, currency } = await found(snapshot, asked);
  const files = await PackageFiles.begin(target, new Date(snapshot.madeAt), signal);
  const scratch = await mkdtemp(`${target.replace(/[\\/]+$/, '')}.${process.pid}.partial-`);
  let before = 0;
  const part = async <T>(
    step: keyof typeof STEPS,
    work: (progress: (share: number) => void) => Promise<T>,
  ): Promise<T> => {
    signal?.throwIfAborted();
    const tell = (share: number): void => asked.progress?.(Math.floor(before + STEPS[step] * share), step);
    tell(0);
    const result = await work((share) => {
      signal?.throwIfAborted();
      tell(share);
    });
    before += STEPS[step];
    return result;
  };
  try {
    const { project } = scope;
    // parts that may be refused come before those that take long
    const attachments = await part('attachments', (progress) =>
      addAttachments(files, snapshot, asked.attachmentsDir, { drive, progress }),
    );
    const chain = await part('audit', () => addChain(files, snapshot, project, drive === undefined));
    await part('facts', (progress) => addFacts(files, new FactSource(snapshot, driveId), scratch, progress));
    const samples = await part('samples', (progress) =>
      addSamples(files, snapshot, { project, drive, lake: asked.lake, scratch, progress }),
    );
    if (drive === undefined)
      await part('record', () =>
        addRecord(files, snapshot, { project, version, head: chain.head, attachments }),
      );
    const shifts = await part('shifts', (progress) => addShifts(files, database, { drive, progress }));
    const papers = await part('papers', (progress) =>
      addPapers(files, database, workers, { drive, progress }),
    );
    await addDocs(files);
    const about = { project, drive, madeAt: snapshot.madeAt, version };
    await files.add(
      'README.txt',
      readme({ ...about, projectName: name, timeZone, currency, chain, missing: samples.missing }),
    );
    const manifest = await addManifest(files, {
      format: PACKAGE_FORMAT,
      ...about,
      counts: { shifts, papers, attachments, samples: samples.files },
      history: { ...chain.head, entries: chain.entries, withheld: chain.withheld },
    });
    await files.end();
    asked.progress?.(100, 'done');
    const bytes = files.files.reduce((sum, file) => sum + file.bytes, 0);
    const { head, entries, withheld } = chain;
    return {
      ...about,
      files: files.files.length,
      bytes,
      manifest,
      head,
      entries,
      withheld,
      missingSamples: samples.missing,
    };
  } catch (error) {
    await files.abandon();
    throw error;
  } finally {
    await rm(scratch, { recursive: true, force: true });
  }
};

/**
 * Writes a handover package: one state of a project's record, readable without the service. It is written under a temporary name
 * and renamed when it is complete.
 * @throws Error when the target exists, a file of an attachment is missing, or the history is not sound
 */
export const writeHandover = async (asked: HandoverRequest): Promise<HandoverResult> => {
  const snapshot = await Snapshot.open(asked.url, asked.scope);
  const database = new Database(asked.url, 1);
  try {
    return await inScope(asked.scope, () =>
      database.onSnapshot(snapshot.id, () => written(asked, snapshot, database)),
    );
  } finally {
    await snapshot.close();
    await database.close();
  }
};

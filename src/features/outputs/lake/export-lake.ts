import type pg from 'pg';
import {
  copyToParquetFiles,
  parquetColumns,
  copyToParquet,
} from '../../../common/files/parquet/copy-to-parquet.js';
import type { ParquetColumn } from '../../../common/files/parquet/types.js';
import { claimLake, LakeFolder } from './lake-folder.js';
import { LAKE_TABLES, type LakeTable, pathOf, type Place, SAMPLES, samplesOf } from './lake-tables.js';
import { emptyManifest, type LakeFile, type Manifest, shapeOf, type TableShape } from './manifest.js';

/** The result of an export. */
export interface LakeResult {
  /** Paths below the folder. */
  written: string[];
  removed: string[];
  /** Number of files that stayed unchanged. */
  unchanged: number;
  /** Number of rows in all files. */
  rows: number;
}

interface Project {
  id: number;
  code: string;
  changeNumber: number;
  drives: { id: number; code: string }[];
}

const PROJECTS = `select p.id, p.code, coalesce((select max(number) from history.change c where c.project_id = p.id), 0)::int as "changeNumber",
    (select coalesce(json_agg(json_build_object('id', d.id, 'code', d.code) order by d.code collate "C"), '[]') from drive d where d.project_id = p.id) as drives
  from project p where $1::text is null or p.code = $1 order by p.code collate "C"`;

/** The tables of months of samples, including detached ones. */
const SAMPLE_MONTHS = `select 'public.' || quote_ident(c.relname) as relation, replace(right(c.relname, 7), '_', '-') as month
  from pg_class c where c.relnamespace = 'public'::regnamespace and c.relkind = 'r' and c.relname ~ '^machine_sample_\\d{4}_\\d\\d$' order by 2`;

interface Written {
  file: LakeFile;
  /** Its path until it is published. */
  at: string;
}

/** An export of one state of the record. */
class Export {
  readonly result: LakeResult = { written: [], removed: [], unchanged: 0, rows: 0 };

  constructor(
    private readonly client: pg.Client,
    private readonly folder: LakeFolder,
    private readonly manifest: Manifest,
    private readonly known: Manifest,
    private readonly columns: ReadonlyMap<string, ParquetColumn[]>,
  ) {}

  /** Tables that belong to no project. */
  async shared(): Promise<void> {
    const written: Written[] = [];
    for (const table of LAKE_TABLES.filter(({ parts }) => parts.length === 0))
      written.push(...(await this.read(table, {}, 'true', null)));
    await this.settle(written, ({ project }) => project === undefined);
  }

  /** The facts and dimensions of a project: all are read before any is published. */
  async project(project: Project): Promise<void> {
    const isAsKnown =
      this.known.projects[project.code]?.software === this.manifest.software &&
      this.known.projects[project.code]?.changeNumber === project.changeNumber;
    const written: Written[] = [];
    const kept = new Set<string>();
    for (const table of LAKE_TABLES.filter(({ parts }) => parts.length > 0))
      if (isAsKnown && table.restsOnClock !== true && (await this.isThere(table, project.code)))
        kept.add(table.name);
      else written.push(...(await this.readTable(table, project)));
    this.manifest.projects[project.code] = {
      changeNumber: project.changeNumber,
      readAt: new Date().toISOString(),
      software: this.manifest.software,
    };
    await this.settle(
      written,
      (file) => file.project === project.code && file.table !== SAMPLES.name && !kept.has(file.table),
    );
  }

  /** Samples are added but never edited: a folder with as many rows as the table has all of them. */
  async samples(projects: Project[]): Promise<void> {
    const { rows: months } = await this.client.query<{ relation: string; month: string }>(SAMPLE_MONTHS);
    const drives = projects.flatMap(({ code, drives: own }) =>
      own.map((drive) => ({ project: code, ...drive })),
    );
    for (const { relation, month } of months) {
      const { rows } = await this.client.query<{ drive: number; rows: number }>(
        `select drive_id as drive, count(*)::int as rows from ${relation} group by 1`,
      );
      const counts = new Map(rows.map(({ drive, rows: count }) => [drive, count]));
      for (const { project, id, code } of drives) {
        const place = { project, drive: code, month };
        const known = this.known.files.find(({ path }) => path === pathOf(SAMPLES, place));
        const count = counts.get(id) ?? 0;
        if (known?.rows === count && (await this.isAsItWas(known))) continue;
        const written = count === 0 ? [] : await this.one(SAMPLES, place, samplesOf(relation, id), null);
        await this.settle(written, ({ path }) => path === pathOf(SAMPLES, place));
      }
    }
  }

  private async readTable(table: LakeTable, { id, code, drives, changeNumber }: Project): Promise<Written[]> {
    if (!table.parts.includes('drive'))
      return this.read(table, { project: code }, `project_id = ${id}`, changeNumber);
    const written: Written[] = [];
    for (const drive of drives) {
      const place = { project: code, drive: drive.code };
      written.push(...(await this.read(table, place, `drive_id = ${drive.id}`, changeNumber)));
    }
    return written;
  }

  /** Writes rows to one file, or to one per month. */
  private async read(
    table: LakeTable,
    place: Place,
    where: string,
    change: number | null,
  ): Promise<Written[]> {
    if (table.day === undefined)
      return this.one(table, place, `${table.relation} where ${where} order by ${table.orderedBy}`, change);
    const written: Written[] = [];
    const month = `to_char(${table.day}, 'YYYY-MM') collate "C"`;
    const from = `${table.relation} where ${where} order by ${month}, ${table.orderedBy}`;
    const source = { columns: this.columnsOf(table), from };
    for await (const { key, file, ...facts } of copyToParquetFiles(this.client, source, month, () =>
      this.folder.newFile(),
    ))
      written.push({
        at: file,
        file: this.fileOf(table, { ...place, ...(key === null ? {} : { month: key }) }, facts, change),
      });
    return written;
  }

  private async one(table: LakeTable, place: Place, from: string, change: number | null): Promise<Written[]> {
    const at = this.folder.newFile();
    const facts = await copyToParquet(this.client, { columns: this.columnsOf(table), from }, at);
    return [{ at, file: this.fileOf(table, place, facts, change) }];
  }

  private fileOf(
    table: LakeTable,
    place: Place,
    facts: Pick<LakeFile, 'rows' | 'bytes' | 'sha256'>,
    changeNumber: number | null,
  ): LakeFile {
    const { schema } = this.manifest.tables[table.name] as TableShape;
    return { table: table.name, path: pathOf(table, place), ...place, ...facts, schema, changeNumber };
  }

  private columnsOf({ name }: LakeTable): ParquetColumn[] {
    return this.columns.get(name) as ParquetColumn[];
  }

  /** Whether the files of a table match the manifest. */
  private async isThere({ name }: LakeTable, project: string): Promise<boolean> {
    for (const file of this.known.files)
      if (file.table === name && file.project === project && !(await this.isAsItWas(file))) return false;
    return true;
  }

  /** Whether a file matches the manifest and has the current columns of its table. */
  private async isAsItWas(file: LakeFile): Promise<boolean> {
    return (
      file.schema === this.manifest.tables[file.table]?.schema &&
      (await this.folder.has(file, this.folder.wasCutShort))
    );
  }

  /** Publishes files in place of their predecessors in the manifest, followed by the manifest. */
  private async settle(written: Written[], isOf: (file: LakeFile) => boolean): Promise<void> {
    const known = new Map(this.manifest.files.filter(isOf).map((file) => [file.path, file]));
    for (const { at, file } of written) {
      const before = known.get(file.path);
      known.delete(file.path);
      if (await this.folder.publish(at, file)) this.result.written.push(file.path);
      else if (before?.sha256 === file.sha256) file.changeNumber = before.changeNumber;
    }
    for (const file of known.values()) {
      await this.folder.remove(file);
      this.result.removed.push(file.path);
    }
    this.manifest.files = [
      ...this.manifest.files.filter((file) => !isOf(file)),
      ...written.map(({ file }) => file),
    ];
    this.manifest.writtenAt = new Date().toISOString();
    await this.folder.writeManifest(this.manifest);
  }
}

const exported = async (
  client: pg.Client,
  folder: LakeFolder,
  software: string,
  code: string | undefined,
): Promise<LakeResult> => {
  const { rows: projects } = await client.query<Project>(PROJECTS, [code ?? null]);
  if (code !== undefined && projects.length === 0) throw new Error(`There is no project ${code}.`);
  const known = (await folder.manifest()) ?? emptyManifest();
  if (known.files.length === 0) await folder.refuseOthers();
  const columns = new Map<string, ParquetColumn[]>();
  const tables: Manifest['tables'] = {};
  for (const table of [...LAKE_TABLES, SAMPLES]) {
    const own = await parquetColumns(client, table.relation, table.decimals);
    columns.set(table.name, own);
    tables[table.name] = shapeOf(table, own);
  }
  await folder.begin();
  const manifest: Manifest = {
    ...known,
    software,
    tables,
    projects: { ...known.projects },
    files: [...known.files],
  };
  const run = new Export(client, folder, manifest, known, columns);
  await run.shared();
  for (const project of projects) await run.project(project);
  await run.samples(projects);
  await folder.finish();
  const { result } = run;
  result.unchanged = manifest.files.length - result.written.length;
  result.rows = manifest.files.reduce((sum, { rows }) => sum + rows, 0);
  return result;
};

/**
 * Writes facts, dimensions and machine samples to a folder, as Parquet files by project, drive and month. Files with unchanged
 * content are kept. An interrupted export leaves only complete files, and the next one finishes it.
 * @param client  of the owner of the tables
 * @param project  the only project; undefined: all projects
 * @throws Error when the folder contains other files, another export is writing to it, or a value cannot be written exactly
 */
export const exportLake = async (
  client: pg.Client,
  root: string,
  software: string,
  project?: string,
): Promise<LakeResult> => {
  const folder = await LakeFolder.open(root);
  await claimLake(client, folder);
  await client.query('begin isolation level repeatable read read only');
  const result = await exported(client, folder, software, project);
  await client.query('commit');
  return result;
};

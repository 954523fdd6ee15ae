import pg from 'pg';
import {
  type AuditHead,
  type BackupHead,
  type BackupTail,
  FORMAT,
  nameOf,
  type SequenceValue,
  type TableShape,
} from '../../../backup/format.js';
import { Digesting, quoted, tableShapes } from '../../../backup/record-tables.js';
import type { Content, PackageFiles } from './package-files.js';
import type { Snapshot } from './snapshot.js';

/** Tables of schema public that are not part of a package, with the reason. */
export const LEFT_OUT: Readonly<Record<string, string>> = {
  administrator: 'administrators of the installation: they belong to no project',
  api_key_use: 'when API keys were last used',
  idempotency_key: 'answers kept for a day in case a request is repeated',
  job: 'jobs of the service, such as those that wrote packages',
  outgoing_message: 'messages to webhooks',
  webhook_delivery: 'attempts to deliver messages to webhooks',
  webhook_secret: 'what the signing secrets of webhooks are derived from',
};

/** Columns whose values are withheld, and their replacements. */
export const WITHHELD: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  api_key: { hash: `decode(repeat('00', 32), 'hex')` },
};

const RECORD = 'record/';

const isCarried = ({ schema, name, attached }: TableShape): boolean =>
  attached !== false && schema !== '_drivebook' && !(schema === 'public' && name in LEFT_OUT);

/** A query of a table's rows for the project alone, in the format of a backup. */
const rowsOfProject = ({ schema, name, columns, order, attached }: TableShape, projectId: number): string => {
  const withheld = WITHHELD[name] ?? {};
  const list = columns.map((column) => withheld[column] ?? pg.escapeIdentifier(column)).join(', ');
  const month = attached ? `${name.slice(-7).replace('_', '-')}-01` : undefined;
  // the months of a partitioned table are read through it, because its row-level security applies to them
  const from = month ? 'public.machine_sample' : `only ${quoted({ schema, name })}`;
  const project = schema === 'public' && name === 'project' ? 'id' : 'project_id';
  const within = month ? ` and at >= '${month}' and at < date '${month}' + interval '1 month'` : '';
  return `select ${list} from ${from} t where ${project} = ${Number(projectId)}${within} order by ${order.join(', ')}`;
};

/** Values of the tables' sequences when only the project's own rows count. */
const sequencesOf = async (snapshot: Snapshot, tables: TableShape[]): Promise<SequenceValue[]> => {
  const values: SequenceValue[] = [];
  for (const table of tables.filter(({ schema, columns }) => schema === 'public' && columns.includes('id'))) {
    const twin = tables.some(({ schema, name }) => schema === 'history' && name === table.name);
    const rows = await snapshot.query<{ name: string | null; value: string | null }>(
      `select pg_get_serial_sequence($1, 'id') as name, greatest((select max(id) from ${quoted(table)}),
        ${twin ? `(select max(id) from history.${pg.escapeIdentifier(table.name)})` : 'null'})::text as value`,
      [nameOf(table)],
    );
    for (const { name, value } of rows)
      if (name !== null && value !== null) values.push({ name, value, called: true });
  }
  return values;
};

async function* counted(content: Content, digesting: Digesting): AsyncGenerator<Buffer, void> {
  for await (const piece of content) {
    digesting.add(piece);
    yield piece;
  }
}

/** Writes the rows of the project's tables. @returns the number of rows by table */
export const addRecord = async (
  files: PackageFiles,
  snapshot: Snapshot,
  {
    project,
    version,
    head,
    attachments,
  }: { project: string; version: string; head: AuditHead; attachments: number },
): Promise<{ tables: number; rows: number }> => {
  const tables = (await tableShapes(snapshot.session)).filter(isCarried);
  const recordHead: BackupHead = {
    format: FORMAT,
    version,
    madeAt: snapshot.madeAt,
    server: snapshot.server,
    migrations: await snapshot.query('select name, checksum from public.applied_migrations()'),
    tables,
    sequences: await sequencesOf(snapshot, tables),
    members: [],
    project,
    retiredMonths: (
      await snapshot.query<{ month: string }>(
        `select month::text from public.retired_sample_months('-infinity', 'infinity') as month order by 1`,
      )
    ).map(({ month }) => month),
  };
  await files.add(`${RECORD}record.json`, `${JSON.stringify(recordHead, undefined, 1)}\n`);
  const digests: BackupTail['tables'] = {};
  let rows = 0;
  for (const table of tables) {
    const digesting = new Digesting();
    const name = nameOf(table);
    const copied = counted(snapshot.copy(rowsOfProject(table, snapshot.projectId)), digesting);
    const first = await copied.next();
    if (!first.done) {
      // tables without rows get no file
      await files.add(
        `${RECORD}tables/${name}.copy`,
        withFirst(first.value, copied),
        () => digesting.rowCount,
      );
      rows += digesting.rowCount;
    }
    digests[name] = digesting.digest();
  }
  const tail: BackupTail = { tables: digests, heads: [head], attachments };
  await files.add(`${RECORD}digests.json`, `${JSON.stringify(tail, undefined, 1)}\n`);
  return { tables: tables.length, rows };
};

async function* withFirst(first: Buffer, rest: Content): Content {
  yield first;
  yield* rest;
}

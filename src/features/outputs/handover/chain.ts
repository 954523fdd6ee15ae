import pg from 'pg';
import { ProblemError } from '../../../common/api/problem.js';
import type { AuditHead } from '../../../backup/format.js';
import { auditHeads } from '../../../backup/record-tables.js';
import type { Content, PackageFiles } from './package-files.js';
import { WITHHELD } from './record-copy.js';
import type { Row, Snapshot } from './snapshot.js';

/** The sealed content of each entry, as history.hash_of builds it. */
const CHAIN = `select number::text, jsonb_build_object('project', project_id, 'number', number, 'at', made_at, 'actor', actor, 'credential', credential,
    'reason', reason, 'request', request, 'tables', tables, 'content', encode(content, 'hex'))::text, encode(hash, 'hex')
  from history.change c order by c.number`;

/** Row versions of a table that each entry began or ended, as history.content_of writes them; the third column: without the columns that were added later. */
const moved = (table: string): string => {
  const row = `jsonb_strip_nulls(to_jsonb(h) - array['from_change', 'to_change'])`;
  const older = `r.row - array(select d.key from jsonb_each(history.later_defaults() -> ${pg.escapeLiteral(table)}) d where d.value = r.row -> d.key)`;
  const came =
    table in WITHHELD
      ? `null::text as line, null::text as older`
      : `'came ' || r.row::text as line, nullif('came ' || (${older})::text, 'came ' || r.row::text) as older`;
  const name = pg.escapeIdentifier(table);
  return `select h.from_change as number, ${pg.escapeLiteral(table)} as name, ${came} from history.${name} h cross join lateral (select ${row} as row) r
    union all select h.to_change, ${pg.escapeLiteral(table)}, 'went ' || h.id || ' of ' || h.from_change, null from history.${name} h
      where h.to_change < 9223372036854775807`;
};

interface Fault {
  number: string;
  fault: string;
}

/** @throws Error naming the first faulty entry: a package could then prove nothing */
const assertSound = async (snapshot: Snapshot, project: string): Promise<void> => {
  const [fault] = await snapshot.query<Fault>(
    'select number::text, fault from history.first_fault($1, null, null)',
    [snapshot.projectId],
  );
  if (fault)
    throw new ProblemError(
      'conflict',
      `The history of project ${project} is not sound: entry ${fault.number}: ${fault.fault}. A package would prove nothing.`,
    );
};

async function* lines(
  rows: AsyncIterable<Row[]>,
  of: (row: Row) => object,
  count: (rows: number) => void,
): Content {
  for await (const some of rows) {
    count(some.length);
    yield Buffer.from(some.map((row) => `${JSON.stringify(of(row))}\n`).join(''));
  }
}

export interface Chain {
  head: AuditHead;
  entries: number;
  /** entries whose content cannot be recomputed from the package */
  withheld: number[];
}

/**
 * Writes the history as a chain that can be verified without the service. @param withRows  the row versions too; without them the
 * entries are chained, but their content is not shown
 */
export const addChain = async (
  files: PackageFiles,
  snapshot: Snapshot,
  project: string,
  withRows: boolean,
): Promise<Chain> => {
  await assertSound(snapshot, project);
  const [head] = (await auditHeads(snapshot.session)).filter(
    ({ projectId }) => projectId === snapshot.projectId,
  );
  if (!head) throw new Error(`Project ${project} has no history.`);
  let entries = 0;
  await files.add(
    'audit/chain.ndjson',
    lines(
      snapshot.rows(CHAIN),
      ([number, sealed, hash]) => ({ number: Number(number), sealed, hash }),
      (rows) => (entries += rows),
    ),
    () => entries,
  );
  const withheld = new Set<number>();
  if (withRows) {
    const tables = await snapshot.query<{ name: string }>('select name from history.kept_tables() as name');
    let count = 0;
    await files.add(
      'audit/rows.ndjson',
      lines(
        snapshot.rows(
          `select number::text, name, line, older from (${tables.map(({ name }) => moved(name)).join(' union all ')}) m
           order by m.number, name collate "C", line collate "C"`,
        ),
        ([number, table, line, older]) => {
          if (line === null) withheld.add(Number(number));
          return {
            number: Number(number),
            table,
            ...(line === null ? { withheld: true } : { line }),
            ...(older === null ? {} : { older }),
          };
        },
        (rows) => (count += rows),
      ),
      () => count,
    );
  }
  return { head, entries, withheld: [...withheld] };
};

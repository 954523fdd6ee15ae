import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import pg from 'pg';
import { loadConfig } from '../common/config/config.js';
import { readyDatabase } from '../service.js';
import { command } from './command.js';

const USAGE = `drivebook audit verify [--project P] [--head FILE]
drivebook audit head [--project P]

  verify   goes through the history of a project, or of all: every entry sealed, chained to the one before it, its rows
           those it sealed, and the record as it stands what the history says. Names the first bad entry.
  head     prints the newest entry of each history with its hash. Note it outside of the database, say with each month's
           measure: with --head, verify finds out when entries were taken off the end or the history was written anew.

  --project P    code of the project; all without
  --head FILE    what "audit head" printed before

It reads the database of DATABASE_URL, or the embedded one of DATA_DIR while the service does not run; it needs the
owner of the tables, not the service's role.

Exit status: 0 sound, 1 a bad entry, 2 not understood.
`;

const OPTIONS = {
  project: { type: 'string' },
  head: { type: 'string' },
  help: { type: 'boolean', short: 'h' },
} as const;

interface Head {
  project: string;
  number: number;
  madeAt: string;
  hash: string;
}

/** The projects that stand, and those of which only the history does. */
const KNOWN = `(select id, code from project union all
  select id, coalesce((select code from history.project where project_id = g.id order by from_change desc limit 1), 'project ' || id)
  from (select project_id as id from history.change union select project_id from history.project) g
  where not exists (select from project p where p.id = g.id))`;

const HEADS = `select p.code as project, c.number::int, c.made_at as "madeAt", encode(c.hash, 'hex') as hash
  from ${KNOWN} p cross join lateral (select * from history.change c where c.project_id = p.id order by c.number desc limit 1) c
  where $1::text is null or p.code = $1 order by p.code`;

const FAULT = `select f.number::int, f.fault from ${KNOWN} p cross join lateral history.first_fault(p.id, $2, decode($3, 'hex')) f where p.code = $1`;

const PROJECTS = `select code from ${KNOWN} p where $1::text is null or code = $1 order by code`;

/** The heads of a file: a JSON object a line, as `audit head` prints them. @throws Error naming the line */
const readHeads = (file: string): Map<string, Head> => {
  const lines = readFileSync(file, 'utf8')
    .split('\n')
    .filter((line) => line.trim() !== '');
  return new Map(
    lines.map((line, index) => {
      try {
        const head = JSON.parse(line) as Head;
        if (
          typeof head.project === 'string' &&
          Number.isSafeInteger(head.number) &&
          /^[0-9a-f]{64}$/.test(head.hash)
        )
          return [head.project, head];
      } catch {
        // told below
      }
      throw new Error(`${file}, line ${index + 1}: not a head as "drivebook audit head" prints it.`);
    }),
  );
};

const verify = async (
  client: pg.Client,
  project: string | undefined,
  heads: Map<string, Head>,
): Promise<number> => {
  const codes = (await client.query<{ code: string }>(PROJECTS, [project])).rows.map(({ code }) => code);
  const gone = [...heads.keys()].filter(
    (code) => !codes.includes(code) && (project === undefined || code === project),
  );
  for (const code of gone) process.stdout.write(`${code}: the project of the noted head is gone\n`);
  let bad = gone.length;
  for (const code of codes) {
    const head = heads.get(code);
    const { rows } = await client.query<{ number: number; fault: string }>(FAULT, [
      code,
      head?.number,
      head?.hash,
    ]);
    const [last] = (await client.query<Head>(HEADS, [code])).rows;
    const [fault] = rows;
    if (fault) bad += 1;
    process.stdout.write(
      fault
        ? `${code}: entry ${fault.number} is bad: ${fault.fault}\n`
        : `${code}: sound, ${last?.number ?? 0} entries, head ${last?.hash ?? 'none'}\n`,
    );
  }
  return bad > 0 ? 1 : 0;
};

const writeHeads = async (client: pg.Client, project: string | undefined): Promise<number> => {
  for (const head of (await client.query<Head>(HEADS, [project])).rows)
    process.stdout.write(`${JSON.stringify(head)}\n`);
  return 0;
};

interface Request {
  what: 'verify' | 'head';
  project?: string;
  /** file of the heads noted before */
  head?: string;
}

/** What was asked for; undefined: to read the usage. @throws Error naming what is not understood */
const understood = (args: string[]): Request | undefined => {
  const { values, positionals } = parseArgs({ args, options: OPTIONS, allowPositionals: true });
  const [what, ...more] = positionals;
  const { project, head, help } = values;
  if (help) return undefined;
  if ((what !== 'verify' && what !== 'head') || more.length > 0)
    throw new Error(`drivebook audit verifies or prints the head, not "${positionals.join(' ')}".`);
  return { what, project, head };
};

const looked = async ({ what, project, head }: Request): Promise<number> => {
  const heads = head === undefined ? new Map<string, Head>() : readHeads(head);
  const ready = await readyDatabase(loadConfig());
  const client = new pg.Client({ connectionString: ready.ownerUrl });
  try {
    await client.connect();
    const known = await client.query(PROJECTS, [project]);
    if (project !== undefined && known.rowCount === 0) throw new Error(`There is no project ${project}.`);
    return await (what === 'head' ? writeHeads(client, project) : verify(client, project, heads));
  } finally {
    await client.end();
    await ready.stop();
  }
};

/** `drivebook audit`: checks the history, and prints what to note of it. */
export const audit = command(USAGE, understood, looked);

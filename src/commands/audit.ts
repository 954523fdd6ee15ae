import { readFileSync } from 'node:fs';
import type pg from 'pg';
import { loadConfig } from '../common/config/config.js';
import { type AddCommand, fileThatExists, notes, ON_DATABASE, printEach, withJson } from './command.js';
import { asOwner, commandDatabase } from './command-database.js';

interface Head {
  project: string;
  number: number;
  madeAt: string;
  hash: string;
}

/** Existing projects, and removed ones of which only the history remains. */
const KNOWN = `(select id, code from project union all
  select id, coalesce((select code from history.project where project_id = g.id order by from_change desc limit 1), 'project ' || id)
  from (select project_id as id from history.change union select project_id from history.project) g
  where not exists (select from project p where p.id = g.id))`;

const HEADS = `select p.code as project, c.number::int, c.made_at as "madeAt", encode(c.hash, 'hex') as hash
  from ${KNOWN} p cross join lateral (select * from history.change c where c.project_id = p.id order by c.number desc limit 1) c
  where $1::text is null or p.code = $1 order by p.code`;

const FAULT = `select f.number::int, f.fault from ${KNOWN} p cross join lateral history.first_fault(p.id, $2, decode($3, 'hex')) f where p.code = $1`;

/** Entries that came with a handover package and whose content cannot be recomputed. */
const WITHHELD = `select w.number from ${KNOWN} p cross join lateral history.withheld(p.id) as w(number) where p.code = $1 order by 1`;

const PROJECTS = `select code from ${KNOWN} p where $1::text is null or code = $1 order by code`;

const isHead = ({ project, number, hash }: Head): boolean =>
  typeof project === 'string' && Number.isSafeInteger(number) && /^[0-9a-f]{64}$/.test(hash);

/** The heads in a file: one JSON object per line, or a list of them, as `audit head` prints them. @throws Error naming the line */
const readHeads = (file: string): Map<string, Head> => {
  const lines = readFileSync(file, 'utf8')
    .split('\n')
    .filter((line) => line.trim() !== '');
  return new Map(
    lines.flatMap((line, index) => {
      try {
        const heads = [JSON.parse(line) as Head | Head[]].flat();
        if (heads.every(isHead)) return heads.map((head) => [head.project, head] as const);
      } catch {
        // reported below
      }
      throw new Error(`${file}, line ${index + 1}: not a head as "drivebook audit head" prints it.`);
    }),
  );
};

/** The history of a project as the audit finds it. */
interface Audited {
  project: string;
  sound: boolean;
  /** how many entries it has, and the hash of the newest */
  entries: number;
  head?: string;
  /** entries whose content was withheld */
  withheld: number[];
  /** the first bad entry and its fault; without an entry: the project of the noted head is gone */
  fault?: { entry?: number; detail: string };
}

const inWords = ({ project, entries, head, withheld, fault }: Audited): string =>
  fault === undefined
    ? `${project}: sound, ${entries} entries, head ${head ?? 'none'}${withheld.length > 0 ? `; content withheld of ${withheld.length === 1 ? 'entry' : 'entries'} ${withheld.join(', ')}` : ''}`
    : fault.entry === undefined
      ? `${project}: ${fault.detail}`
      : `${project}: entry ${fault.entry} is bad: ${fault.detail}`;

async function* histories(
  client: pg.Client,
  project: string | undefined,
  heads: Map<string, Head>,
): AsyncGenerator<Audited> {
  const codes = (await client.query<{ code: string }>(PROJECTS, [project])).rows.map(({ code }) => code);
  const gone = [...heads.keys()].filter(
    (code) => !codes.includes(code) && (project === undefined || code === project),
  );
  const detail = 'the project of the noted head is gone';
  for (const code of gone) yield { project: code, sound: false, entries: 0, withheld: [], fault: { detail } };
  for (const code of codes) {
    const head = heads.get(code);
    const { rows } = await client.query<{ number: number; fault: string }>(FAULT, [
      code,
      head?.number,
      head?.hash,
    ]);
    const [last] = (await client.query<Head>(HEADS, [code])).rows;
    const [fault] = rows;
    const withheld = (await client.query<{ number: string }>(WITHHELD, [code])).rows;
    yield {
      ...{ project: code, sound: !fault, entries: last?.number ?? 0, head: last?.hash },
      withheld: withheld.map(({ number }) => Number(number)),
      ...(fault && { fault: { entry: fault.number, detail: fault.fault } }),
    };
  }
}

async function* newest(client: pg.Client, project: string | undefined): AsyncGenerator<Head> {
  yield* (await client.query<Head>(HEADS, [project])).rows;
}

interface Options {
  project?: string;
  /** file of heads recorded earlier */
  head?: string;
  json?: boolean;
}

const audited = async (what: 'verify' | 'head', { project, head, json }: Options): Promise<number> => {
  const heads = head === undefined ? new Map<string, Head>() : readHeads(head);
  const ready = await commandDatabase(loadConfig());
  try {
    return await asOwner(ready, async (client) => {
      const known = await client.query(PROJECTS, [project]);
      if (project !== undefined && known.rowCount === 0) throw new Error(`There is no project ${project}.`);
      if (what === 'head') {
        await printEach(newest(client, project), json, (each) => JSON.stringify(each));
        return 0;
      }
      const found = await printEach(histories(client, project, heads), json, inWords);
      return found.every(({ sound }) => sound) ? 0 : 1;
    });
  } finally {
    await ready.stop();
  }
};

const EXAMPLES = `Examples:
  drivebook audit head > heads-2027-03.jsonl
  drivebook audit verify --head heads-2027-03.jsonl

${ON_DATABASE}`;

/** `drivebook audit`: checks the history, and prints its newest entries to be recorded elsewhere. */
export const addAudit: AddCommand = (program, finish) => {
  const command = program.command('audit').description('check the history of the record');
  const verifying = command
    .command('verify')
    .summary('check the whole history')
    .description(
      'Checks the history of a project, or of all: that every entry is sealed and chained to the one before it, that its rows are those it sealed, and that the record matches the history. Names the first bad entry. For a record that was read from a handover package it also names the entries whose content was withheld because they hold hashes of API keys.',
    )
    .option('--project <code>', 'code of the project; default: all')
    .option('--head <file>', 'what "audit head" printed earlier', fileThatExists)
    .action(async (options: Options) => finish(await audited('verify', options)));
  const printing = command
    .command('head')
    .summary('print the newest entry of each history')
    .description(
      'Prints the newest entry of each history with its hash, one JSON object per line, or with --json all of them as one list. Keep it outside the database, for instance with the monthly valuation: with --head, verify detects that entries were removed from the end or that the history was rewritten.',
    )
    .option('--project <code>', 'code of the project; default: all')
    .action(async (options: Options) => finish(await audited('head', options)));
  for (const each of [verifying, printing]) withJson(each);
  for (const each of [command, verifying, printing]) notes(each, EXAMPLES);
};

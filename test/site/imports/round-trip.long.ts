import { mkdtempSync, rmSync } from 'node:fs';
import { writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { parse } from 'csv-parse/sync';
import { commandScope } from '../../../src/commands/command-scope.js';
import { Database } from '../../../src/common/database/database.js';
import { inScope } from '../../../src/common/database/scope.js';
import { LargeImports } from '../../../src/features/site/imports/large-imports.service.js';
import { takeGivenBack } from '../../../src/common/api/given-back.js';
import { textCell } from '../../../src/common/files/csv.js';
import { openApiOf } from '../../../src/common/api/openapi.js';
import { DRIVE, PROJECT } from '../../../src/demo/site.js';
import { isOfDrive, type KindDeclaration, KINDS } from '../../../src/features/site/imports/kinds.js';
import { type KindPut, Kinds } from '../../../src/features/site/imports/kinds.service.js';
import { EXAMPLES, type Examples, startWithExamples } from '../../api/put-examples.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { fillExamples, type Json } from './filled.js';

// The list of each kind is imported again, as CSV and as a workbook: every row stays unchanged, and in an empty project makes the same
// list. The record is that of the API examples, with every field filled, and that of the demo.

let site: Examples;
let folder: string;

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'lists-'));
  site = await startWithExamples();
  await fillExamples(site);
});

afterAll(async () => {
  await site.app.close();
  rmSync(folder, { recursive: true });
});

const P = '/v1/projects/P1';
const FORMATS = ['csv', 'xlsx'];

interface Place {
  app: TestApp;
  project: string;
  drive: string;
}

const here = (): Place => ({ app: site.app, project: 'P1', drive: 'N' });

/** The list of a kind, below the project. */
const listOf = (declared: KindDeclaration): string =>
  declared.put === undefined
    ? `drives/:drive/${declared.kind}`
    : (declared.list ?? declared.put.replace(/(\/:\w+)+$/, ''));

const read = async (
  { app, project, drive }: Place,
  declared: KindDeclaration,
  format: string,
): Promise<Buffer> => {
  const { status, body } = await app.http
    .get(`/v1/projects/${project}/${listOf(declared).replace(':drive', drive)}?format=${format}`)
    .buffer(true)
    .parse((answer, done) => {
      const parts: Buffer[] = [];
      answer.on('data', (part: Buffer) => parts.push(part));
      answer.on('end', () => done(null, Buffer.concat(parts)));
    });
  expect([declared.kind, status]).toEqual([declared.kind, 200]);
  return body as Buffer;
};

interface Report extends Record<'rowCount' | 'created' | 'unchanged' | 'updated' | 'rejected', number> {
  detail?: string;
  errors?: Json[];
  ignored: string[];
  rows: { outcome: string }[];
}

const send = async (
  { app, project, drive }: Place,
  declared: KindDeclaration,
  file: Buffer | string,
  fields: Record<string, string> = {},
): Promise<Report> => {
  const { body } = await app.http
    .post(`/v1/projects/${project}/${isOfDrive(declared) ? `drives/${drive}/` : ''}imports/${declared.kind}`)
    .field({ allRows: 'true', ...fields })
    .attach('file', Buffer.from(file), 'table');
  return body as Report;
};

/** What became of a table, with the rows that became something else. */
const outcome = (
  { rowCount, errors, rows = [], detail, ...counts }: Report,
  expected: 'unchanged' | 'created',
) => ({
  ...{ detail, errors, all: counts[expected] === rowCount },
  others: rows.filter((row) => row.outcome !== expected),
});

const ALL = { detail: undefined, errors: undefined, all: true, others: [] };

/** Columns that only the list of a kind has; they are not read. */
const SIGNATURES = ['postedBy', 'submittedAt', 'disputedBy', 'countersignedBy', 'countersignedAt'];
const NOT_READ: Partial<Record<string, string[]>> = {
  shifts: SIGNATURES,
  'shift-strokes': SIGNATURES,
  'shift-activities': SIGNATURES,
  'shift-support': SIGNATURES,
  'shift-ground': SIGNATURES,
  strokes: [
    ...['lengthM', 'boringCount', 'boringHours', 'penetrationRateMPerH', 'thrustPerDiscKn'],
    ...['fieldPenetrationIndex', 'specificEnergyMjPerM3', 'torqueRatio', 'regularAdvance'],
  ],
};

it('fills each field of each kind in some row', async () => {
  const kinds = site.app.app.get(Kinds, { strict: false });
  const empty: Json = {};
  for (const declared of KINDS) {
    const kind = kinds.of(declared.kind);
    const { columns } = kind.records ?? kind;
    const { body } = await site.app.http.get(`${P}/${listOf(declared).replace(':drive', 'N')}`);
    const entries = (Array.isArray(body) ? body : body.items) as Json[];
    const isFilled = (path: string[], all: unknown[]): boolean =>
      all.some(
        (each) =>
          path.reduce<unknown>((found, step) => (found as Json | null | undefined)?.[step], each) != null,
      );
    const own = columns.filter(
      ({ part, path }) =>
        part === 'record' &&
        path.length <= 3 &&
        entries.some((each) => (path[0] ?? '') in each) &&
        !isFilled(path, entries),
    );
    const property = kind.members?.property ?? '';
    const members = entries.flatMap((entry) => (entry[property] ?? []) as Json[]);
    const ofMember = kind.columns.filter(
      ({ part, path }) => part === 'member' && kind.records && members.length > 0 && !isFilled(path, members),
    );
    const names = [...own, ...ofMember].map(({ field }) => field);
    if (names.length > 0) empty[declared.kind] = names;
  }
  expect(empty).toEqual({});
});

describe.each(FORMATS)('a list as %s', (format) => {
  it.each(KINDS.map((each) => [each.kind, each] as const))(
    '%s is imported again unchanged',
    async (kind, declared) => {
      const before = await site.app.contents();
      const file = await read(here(), declared, format);
      for (const fields of [{ dryRun: 'true' }, {}] as Record<string, string>[]) {
        const report = await send(here(), declared, file, fields);
        expect(outcome(report, 'unchanged')).toEqual(ALL);
        expect(report.rowCount).toBeGreaterThan(0);
        expect(report.ignored).toEqual(NOT_READ[kind] ?? []);
      }
      expect(await site.app.contents()).toBe(before);
    },
  );

  it.each(KINDS.map((each) => [each.kind, each] as const))(
    '%s is imported again unchanged as a large table',
    async (kind, declared) => {
      const table = path.join(folder, `${kind}.${format}`);
      await writeFile(table, await read(here(), declared, format));
      const place = { project: 'P1', ...(isOfDrive(declared) && { drive: 'N' }) };
      const large = site.app.app.get(LargeImports, { strict: false });
      const { rowCount, unchanged } = await inScope(
        await commandScope(site.app.app.get(Database), 'P1'),
        () =>
          large.take(
            { kind, place, path: table, options: { dryRun: true } },
            path.join(folder, 'report.csv'),
          ),
      );
      expect([rowCount > 0, unchanged]).toEqual([true, rowCount]);
    },
  );
});

const NO_CONTENTS = 'the list has neither strokes nor activities, support and ground';

/** Kinds whose records cannot be made from their list: why, and what their rows are told. */
const NOT_FROM_LIST: Partial<Record<string, { because: string; says: RegExp }>> = {
  shifts: { because: NO_CONTENTS, says: /no activity from/ },
  'shift-strokes': { because: NO_CONTENTS, says: /no activity from/ },
  'shift-activities': { because: NO_CONTENTS, says: /no activity from/ },
  'shift-support': { because: NO_CONTENTS, says: /no activity from/ },
  'shift-ground': { because: NO_CONTENTS, says: /no activity from/ },
  machines: {
    because: 'the list has the data in force, and the first data of a machine have no date',
    says: /first put its data without validFrom/,
  },
  'class-decisions': {
    because: 'the service says when one was proposed',
    says: /proposedAt cannot be changed/,
  },
  baselines: { because: 'the list has no intervals', says: /intervals is missing/ },
  'baseline-intervals': { because: 'the list has no intervals', says: /intervals is missing/ },
  'programme-points': { because: 'the list has no points', says: /points is missing/ },
  'grouting-rounds': { because: 'the list has no holes', says: /holeCount cannot be changed/ },
  'grouting-holes': { because: 'the list has no holes', says: /holeCount cannot be changed/ },
  'bill-items': { because: 'the list has no items; the export of a bill has them', says: /items is missing/ },
};

/** Kinds whose list makes the records without some columns, if what these say is not there: what their rows are told. */
const NOT_DERIVED: [kind: string, says: RegExp, columns: RegExp][] = [
  // a log is agreed as the governing one by two people
  [
    'ground-logs',
    /governing\.state is agreed; the new record has none: leave the column out/,
    /^governing\./,
  ],
  // the shift in which a hole was drilled is one of the record
  ['probe-holes', /shiftDate is 2021-03-\d\d; the new record has none: leave the column out/, /^shift/],
];

/** The values of a list in the columns that are read. */
const valuesOf = (list: Buffer, ignored: readonly string[]): Record<string, string>[] =>
  (parse(list, { columns: true, record_delimiter: '\r\n' }) as Record<string, string>[]).map((row) =>
    Object.fromEntries(Object.entries(row).filter(([name]) => !ignored.includes(name))),
  );

const ALIGNMENT = { startChainage: '1+200', endChainage: '2+200', direction: 1, boredDiameterM: '7' };

/** All kinds, those of the same list one after the other. */
const byList = (isReversed: boolean): KindDeclaration[] =>
  [...new Set(KINDS.map(listOf))].flatMap((list) => {
    const own = KINDS.filter((each) => listOf(each) === list);
    return isReversed ? own.reverse() : own;
  });

describe.each([
  ['csv', 'P2'],
  ['xlsx', 'P3'],
])('the lists as %s', (format, project) => {
  const there = (): Place => ({ app: site.app, project, drive: 'N' });

  const put = async (address: string, body: object): Promise<void> => {
    const { status, text } = await site.app.http.put(`/v1/projects/${project}${address}`).send(body);
    if (status >= 300) throw new Error(`${address}: ${text}`);
  };

  /** Puts the records of a kind one by one. */
  const copied = async ({ kind, put: address = '' }: KindDeclaration): Promise<void> => {
    const { records, ...own } = site.app.app.get(Kinds, { strict: false }).of(kind);
    const { keys, input, answer } = records ?? (own as KindPut);
    const { body } = await site.app.http.get(placed(address.replace(/(\/:\w+)+$/, '')));
    for (const entry of (Array.isArray(body) ? body : body.items) as Json[]) {
      const at = keys.reduce(
        (so, { param, heading }) => so.replace(`:${param}`, String(entry[heading] ?? entry[param])),
        placed(address),
      );
      const { body: record } = await site.app.http.get(at);
      takeGivenBack(record, input, answer);
      if (kind === 'machines')
        await put(at.replace(P, ''), { ...(record as Json), validFrom: null, revision: null });
      await put(at.replace(P, ''), record as Json);
    }
  };

  const isSameList = async (declared: KindDeclaration, { ignored }: Report, drive = 'N'): Promise<void> => {
    const made = await read({ ...there(), drive }, declared, 'csv');
    expect([declared.kind, valuesOf(made, ignored)]).toEqual([
      declared.kind,
      valuesOf(await read(here(), declared, 'csv'), ignored),
    ]);
  };

  /** What kinds of record refer to and no table has, before the first of them. */
  const OTHERS: Partial<Record<string, (of: string) => boolean>> = {
    notices: (of) => of.endsWith('/notice-rules/{code}'),
    'lump-progress': (of) => of.endsWith('/bills/{version}/rules/{reference}'),
  };

  const putOthers = async (kind: string): Promise<void> => {
    for (const [of, keys, body] of EXAMPLES)
      if (OTHERS[kind]?.(of) === true) await put(site.address(of, keys).replace(P, ''), body);
    if (kind === 'closures')
      for (const name of ['N', 'E']) await put(`/drives/${name}`, { name, ...ALIGNMENT });
  };

  it('make the same lists in an empty project', async () => {
    await put('', { name: 'Empty', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' });
    const inOrder = byList(format === 'xlsx');
    const made = new Set<string>();
    for (const [index, declared] of inOrder.entries()) {
      const { kind } = declared;
      const list = listOf(declared);
      await putOthers(kind);
      const report = await send(there(), declared, await read(here(), declared, format));
      const refused = NOT_FROM_LIST[kind];
      if (refused) {
        expect([kind, report.detail, report.errors]).toEqual([
          kind,
          expect.stringMatching(/ rejected, nothing was written/),
          expect.arrayContaining([expect.objectContaining({ detail: expect.stringMatching(refused.says) })]),
        ]);
        const next = inOrder[index + 1];
        if (next === undefined || listOf(next) !== list) await copied(declared); // others refer to them
        continue;
      }
      // strokes came with their shifts, default zones with the project, others with another kind of the same list
      const isNew = !made.has(list) && kind !== 'strokes';
      expect([kind, report.errors, report.created > 0, report.updated]).toEqual([kind, undefined, isNew, 0]);
      made.add(list);
      await isSameList(declared, report);
    }
    const strokes = KINDS.find(({ kind }) => kind === 'strokes') as KindDeclaration;
    const report = await send({ ...there(), drive: 'E' }, strokes, await read(here(), strokes, format));
    expect(outcome(report, 'created')).toEqual(ALL);
    await isSameList(strokes, report, 'E');
  });
});

it('takes texts as equal that a cell cannot show apart, and leaves them as they are', async () => {
  const [equipment] = KINDS.filter(({ kind }) => kind === 'equipment') as [KindDeclaration];
  const text = ' two lines\r\nand a blank ';
  const { body: other } = await site.app.http.get(`${P}/equipment/BELT`);
  expect((await site.app.http.put(`${P}/equipment/BELT`).send({ ...other, description: text })).status).toBe(
    200,
  );
  for (const format of FORMATS)
    expect(
      outcome(await send(here(), equipment, await read(here(), equipment, format)), 'unchanged'),
    ).toEqual(ALL);
  expect((await site.app.http.get(`${P}/equipment/BELT`)).body).toMatchObject({ description: text });
});

describe('the demo', () => {
  let database: TestDatabase;
  let app: TestApp;

  beforeAll(async () => {
    database = await freshDatabase();
    Object.assign(process.env, { DATABASE_URL: database.url, HOST: '', PORT: '0' });
    expect(await captured('demo', '--once')).toMatchObject({ status: 0, err: '' });
    app = await startApp({}, () => Promise.resolve(database.url));
  });

  afterAll(async () => {
    await app.close();
    await database.drop();
  });

  it.each(FORMATS)('is imported again unchanged from its lists as %s', async (format) => {
    const demo = { app, project: PROJECT.code, drive: DRIVE.code };
    const without: string[] = [];
    for (const declared of KINDS) {
      const report = await send(demo, declared, await read(demo, declared, format), { dryRun: 'true' });
      if (report.detail?.startsWith('the table has a heading row but no')) without.push(declared.kind);
      else expect([declared.kind, outcome(report, 'unchanged')]).toEqual([declared.kind, ALL]);
    }
    expect(without).toEqual(['notices']);
  });

  it('is not made again by lists of what others decide or derive: the rows say which columns to leave out', async () => {
    const put = async (address: string, body: object): Promise<void> => {
      const { status, text } = await app.http.put(`/v1/projects/AGAIN${address}`).send(body);
      expect([text, status]).toEqual([text, 201]);
    };
    await put('', { name: 'Again', timeZone: 'Europe/Zurich', dayStart: '06:00', currency: 'CHF' });
    for (const kind of ['contractor', 'supervisor'])
      await put(`/parties/${kind.toUpperCase()}`, { name: kind, kind });
    const alignment = { startChainage: '3+420', endChainage: '2+400', direction: -1 };
    await put('/drives/D1', { ...ALIGNMENT, ...alignment, name: 'D1' });
    const demo = { app, project: PROJECT.code, drive: DRIVE.code };
    const again = { app, project: 'AGAIN', drive: 'D1' };
    for (const [name, says, columns] of NOT_DERIVED) {
      const kind = KINDS.find((each) => each.kind === name) as KindDeclaration;
      const list = await read(demo, kind, 'csv');
      const refused = await send(again, kind, list);
      expect([name, refused.created, refused.errors]).toEqual([
        name,
        undefined,
        expect.arrayContaining([expect.objectContaining({ detail: expect.stringMatching(says) })]),
      ]);
      const rows = parse(list) as string[][];
      const places = (rows[0] ?? []).flatMap((head, place) => (columns.test(head) ? [] : [place]));
      const rest = rows.map((row) => places.map((place) => textCell(row[place] ?? '')).join(',')).join('\n');
      expect(outcome(await send(again, kind, rest), 'created')).toEqual(ALL);
    }
    const strokes = KINDS.find(({ kind }) => kind === 'strokes') as KindDeclaration;
    const report = await send(again, strokes, await read(demo, strokes, 'csv'));
    expect(outcome(report, 'created')).toEqual(ALL);
    const severalIn = async (place: Place): Promise<boolean> =>
      valuesOf(await read(place, strokes, 'csv'), []).some(({ boringCount }) => boringCount !== '1');
    // the list has a row per stroke, from its first start to its last end: several borings become one
    expect([report.ignored.includes('boringCount'), await severalIn(demo)]).toEqual([true, true]);
    expect(await severalIn(again)).toBe(false);
  });
});

const placed = (address: string): string => `${P}/${address.replace(':drive', 'N')}`;

/** The keys of a record of the examples, by the names of its address. */
const keysIn = (put: string): string | undefined => {
  const template = `/v1/projects/{project}/${put.replaceAll(/:(\w+)/g, '{$1}')}`;
  const { paths = {} } = openApiOf(site.app.app);
  const parameters = paths[template]?.put?.parameters ?? [];
  return put.replaceAll(/:(\w+)/g, (_, name: string) => {
    const found = parameters.find((each) => 'name' in each && each.name === name) as
      { example?: unknown; examples?: Record<string, { value: unknown }> } | undefined;
    return String(found?.example ?? Object.values(found?.examples ?? {})[0]?.value ?? 'N');
  });
};

const members = KINDS.flatMap((each) => (each.members ? [{ ...each, members: each.members }] : []));

it.each(members.map((each) => [each.kind, each] as const))('%s, one row per member', async (_, declared) => {
  const { kind, put, members: within, headings = {} } = declared;
  const address = keysIn(put) ?? '';
  const { body: record } = await site.app.http.get(`${P}/${address}`);
  const members = record[within.property] as Record<string, unknown>[];
  const { inner } = within;
  const entries =
    inner === undefined
      ? members
      : members.flatMap(({ [inner]: list, ...own }) =>
          (list as Record<string, unknown>[]).map((each) => ({ ...own, ...each })),
        );
  const { body: kinds } = await site.app.http.get(`${P}/import-kinds`);
  const { fields } = kinds.find((each: { kind: string }) => each.kind === kind);
  const names: string[] = fields.map(({ name }: { name: string }) => name);
  const keys = Object.fromEntries(
    [...put.matchAll(/:(\w+)/g)]
      .map(([, name = '']) => name)
      .filter((name) => name !== 'drive')
      .map((name) => [headings[name] ?? name, address.split('/')[put.split('/').indexOf(`:${name}`)]]),
  );
  const own = names.filter((name) => name in keys || (entries[0] !== undefined && name in entries[0]));
  const cell = (value: unknown): string => {
    if (value == null) return '';
    return textCell(typeof value === 'object' ? JSON.stringify(value) : String(value));
  };
  const lines = entries.map((entry) => own.map((name) => cell(keys[name] ?? entry[name])).join(';'));
  if (lines.length === 0) throw new Error(`${kind}: the examples have none`);
  const before = await site.app.contents();
  const report = await send(here(), declared, [own.join(';'), ...lines].join('\n'), { decimal: 'point' });
  expect(outcome(report, 'unchanged')).toEqual(ALL);
  expect(report.rowCount).toBe(lines.length);
  expect(await site.app.contents()).toBe(before);
});

import { openApiOf } from '../../../src/common/api/openapi.js';
import { KINDS } from '../../../src/features/site/imports/kinds.js';
import { type Examples, startWithExamples } from '../../api/put-examples.js';

// The CSV of each list route is imported again: every row stays unchanged. The record is that of the API examples.

let site: Examples;

beforeAll(async () => {
  site = await startWithExamples();
});

afterAll(() => site.app.close());

const P = '/v1/projects/P1';
const placed = (address: string): string => `${P}/${address.replace(':drive', 'N')}`;
const addressOf = (kind: string, put: string): string =>
  `${put.startsWith('drives/') ? placed('drives/:drive') : P}/imports/${kind}`;

const send = (address: string, text: string | Buffer, fields: Record<string, string> = {}) =>
  site.app.http.post(address).field(fields).attach('file', Buffer.from(text), 'table.csv');

/** Lists that the examples leave empty, and addresses that have no list. */
const WITHOUT_ROWS: string[] = [];
const WITHOUT_LIST = ['standard-support', 'design-sections', 'programme-points'];

/** The rows of a list that are of the kind: shifts of the calendars that are in force from a date are of another. */
const ownRows = (kind: string, list: string): string => {
  if (kind !== 'calendar-shifts') return list;
  const [head = '', ...rows] = list.split('\r\n');
  const place = head.split(',').indexOf('validFrom');
  return [head, ...rows.filter((row) => !/\d{4}-\d{2}-\d{2}/.test(row.split(',')[place] ?? ''))].join('\r\n');
};

const records = KINDS.flatMap((each) => (each.members || each.put === undefined ? [] : [each]));

it.each(records.map(({ kind, put }) => [kind, put] as const))('%s', async (kind, put) => {
  const list = await site.app.http.get(placed(put.replace(/(\/:\w+)+$/, ''))).set('accept', 'text/csv');
  expect([list.status, list.headers['content-type']]).toEqual([200, expect.stringContaining('text/csv')]);
  const before = await site.app.contents();
  const { status, body } = await send(addressOf(kind, put), ownRows(kind, list.text), { allRows: 'true' });
  expect([status, body.errors]).toEqual([200, undefined]);
  const { rowCount } = body;
  expect(body).toMatchObject({ kind, unchanged: rowCount, created: 0, updated: 0, rejected: 0, ignored: [] });
  expect(body.rows.every(({ outcome }: { outcome: string }) => outcome === 'unchanged')).toBe(true);
  if (!WITHOUT_ROWS.includes(kind)) expect(rowCount).toBeGreaterThan(0);
  expect(await site.app.contents()).toBe(before);
});

it('strokes', async () => {
  let rows = 0;
  for (const drive of ['N', 'S']) {
    const at = `${P}/drives/${drive}`;
    const list = await site.app.http.get(`${at}/strokes`).set('accept', 'text/csv');
    if (list.text.trimEnd().split('\n').length < 2) continue;
    const before = await site.app.contents();
    const { status, body } = await send(`${at}/imports/strokes`, list.text, { allRows: 'true' });
    expect([status, body.errors]).toEqual([200, undefined]);
    expect(body).toMatchObject({ unchanged: body.rowCount, created: 0, updated: 0, rejected: 0 });
    expect(body.ignored).toContain('boringHours'); // computed by the service
    expect(await site.app.contents()).toBe(before);
    rows += body.rowCount;
  }
  expect(rows).toBeGreaterThan(0);
});

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
    const text = typeof value === 'object' ? JSON.stringify(value) : String(value);
    return `"${text.replaceAll('"', '""')}"`;
  };
  const lines = entries.map((entry) => own.map((name) => cell(keys[name] ?? entry[name])).join(';'));
  if (lines.length === 0) throw new Error(`${kind}: the examples have none`);
  const before = await site.app.contents();
  const { status, body } = await send(addressOf(kind, put), [own.join(';'), ...lines].join('\n'), {
    decimal: 'point',
  });
  expect([status, body]).toEqual([
    200,
    expect.objectContaining({ rowCount: lines.length, unchanged: lines.length, rejected: 0 }),
  ]);
  expect(await site.app.contents()).toBe(before);
});

it('exist for every kind whose rows are records', () => {
  expect(members.map(({ kind }) => kind)).toEqual(expect.arrayContaining(WITHOUT_LIST));
});

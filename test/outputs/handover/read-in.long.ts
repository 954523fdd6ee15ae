import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import pg from 'pg';
import { openApiOf } from '../../../src/common/api/openapi.js';
import { ASKED } from '../../../src/common/api/examples/asked.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { captured } from '../../harness/captured-command.js';
import { freshDatabase, type TestDatabase } from '../../harness/database.js';
import { filesOf, packaged, twoProjects, verified } from './packaged.js';

// A service restored from a package answers the same as the one that it was taken from: every GET of the project, now and as of moments.

let folder: string;
let [source, target]: TestDatabase[] = [];
let [from, into]: TestApp[] = [];
let moments: string[];
const settings = { ...process.env };

const place = (name: string): string => path.join(folder, name);

/** Names given by the builder, by the preceding part of the address or by the name of the parameter. */
const NAMES: Record<string, string> = {
  project: 'ALPHA',
  drive: 'N',
  date: '2027-03-01',
  shift: 'day',
  day: '2027-03-01',
  change: '1',
  number: '1',
  reference: 'T.1-ALPHA',
  version: 'bill-ALPHA',
  baseline: 'base-ALPHA',
  entitlement: 'time-ALPHA',
  programme: 'plan-ALPHA',
  party: 'C',
  machine: 'M',
  subject: encodeURIComponent('poster of ALPHA'),
  prefix: encodeURIComponent('key of ALPHA'),
  digest: '',
  diagram: 'time-chainage',
  set: 'fact_boring',
  'calendar-shifts': 'day',
  closures: 'BREAK',
  'activity-codes': 'BORE',
  equipment: 'BELT',
  'ground-classes': 'A',
  'support-items': 'BOLT',
  'hold-points': 'HP-ALPHA',
  'notice-rules': 'CLAIM-ALPHA',
  notices: 'N-ALPHA',
  zones: 'Z-ALPHA',
  'alert-rules': 'AR-ALPHA',
  'probe-holes': 'H-ALPHA',
  investigations: 'V-ALPHA',
  encounters: 'E-ALPHA',
  'inflow-measurements': 'W-ALPHA',
  'water-tests': 'WT-ALPHA',
  'grouting-rounds': 'GR-ALPHA',
  discontinuities: 'D-ALPHA',
  overbreak: 'O-ALPHA',
  'ground-logs': 'GL-ALPHA',
  'design-sections': 'S-ALPHA',
  webhooks: 'WH-ALPHA',
  'acceptance-rules': '2020-01-01',
  'water-limits': '2024-01-01',
  'doubt-limits': '2027-01-01',
  revisions: '2027-08-01',
  calendars: '2000-01-01',
  'lump-progress': 'L-ALPHA',
};

const IN_QUERY: Record<string, string> = {
  from: '1+000',
  to: '1+030',
  chainage: '1+005',
  baseline: 'base-ALPHA',
  table: 'shifts',
};

/** Left out of a package: last use of keys, messages sent to webhooks, and jobs, as README.txt says. */
const LEFT_OUT = /\/deliveries|\/api-keys|\/jobs/;

interface Parameter {
  name: string;
  in: string;
  required?: boolean;
  schema?: { format?: string };
}

/** Every GET below the project: its address, and whether it can be read as of a moment. */
const addresses = (app: TestApp): { address: string; asOf: boolean }[] => {
  const document = openApiOf(app.app);
  return Object.entries(document.paths).flatMap(([template, { get } = {}]) => {
    if (!get || !template.startsWith('/v1/projects/{project}') || LEFT_OUT.test(template)) return [];
    const parameters = (get.parameters ?? []).map((each) =>
      '$ref' in each
        ? (document.components?.parameters?.[each.$ref.split('/').pop() ?? ''] as unknown as Parameter)
        : (each as unknown as Parameter),
    );
    const segments = template.split('/');
    const address = segments
      .map((segment, index) =>
        segment.replace(
          /\{(\w+)\}/,
          (_, name: string) => NAMES[segments[index - 1] ?? ''] ?? NAMES[name] ?? 'none',
        ),
      )
      .join('/');
    const query = parameters
      .filter((each) => each.in === 'query' && each.required)
      .map(({ name, schema }) => {
        const isPlace = schema?.format?.startsWith('date') !== true;
        const value =
          (isPlace ? IN_QUERY[name] : undefined) ?? ASKED[`${name}:${schema?.format}`] ?? ASKED[name];
        return `${name}=${encodeURIComponent(String(value))}`;
      });
    return [
      {
        address: query.length > 0 ? `${address}?${query.join('&')}` : address,
        asOf: parameters.some(({ name }) => name === 'asOf'),
      },
    ];
  });
};

/** The address on which each service listens. */
const hosts = new WeakMap<object, string>();

const answer = async ({ http }: TestApp, address: string): Promise<{ status: number; body: string }> => {
  const { status, body, text } = await http
    .get(address)
    .buffer(true)
    .parse((response, done) => {
      const pieces: Buffer[] = [];
      response.on('data', (piece: Buffer) => pieces.push(piece));
      response.on('end', () => done(null, Buffer.concat(pieces)));
    });
  const content = Buffer.isBuffer(body) ? body.toString('latin1') : text;
  // the feed names its own address, which differs by the port
  return { status, body: content.replaceAll(hosts.get(http) ?? '', '').replace(/"requestId":"[^"]*"/g, '') };
};

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'read-in-'));
  source = await freshDatabase();
  target = await freshDatabase('template0');
  await twoProjects(source, place('attachments'));
  const client = new pg.Client({ connectionString: source.url });
  await client.connect();
  ({
    rows: [{ moments }],
  } = (await client.query<{ moments: string[] }>(
    `select json_agg(to_char(made_at at time zone 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.MS"Z"') order by number) as moments from history.change where project_id = 1`,
  )) as unknown as { rows: [{ moments: string[] }] });
  await client.end();
  await packaged(source, { target: place('package'), attachmentsDir: place('attachments') });
  Object.assign(process.env, { DATABASE_URL: target.url, ATTACHMENTS_DIR: place('restored') });
  const { status, out, err } = await captured('restore', place('package'));
  if (status !== 0) throw new Error(err);
  expect(out).toMatch(/^Restored project ALPHA as of /);
  from = await startApp({ ATTACHMENTS_DIR: place('attachments') }, () => Promise.resolve(source!.url));
  into = await startApp({ ATTACHMENTS_DIR: place('restored') }, () => Promise.resolve(target!.url));
  for (const app of [from, into]) hosts.set(app.http, await app.app.getUrl());
});

afterAll(async () => {
  process.env = settings;
  await from?.close();
  await into?.close();
  await source?.drop();
  await target?.drop();
  rmSync(folder, { recursive: true });
});

it('its script finds the package sound', () => {
  expect(verified(place('package'))).toMatchObject({ status: 0, faults: [] });
});

it('every GET of the project answers the same, now and as of moments', async () => {
  // papers and pictures are in the package itself, and compared there
  const all = addresses(from!).filter(({ address }) => !/\.(pdf|png|svg|xlsx)/.test(address));
  let read = 0;
  for (const { address, asOf } of all)
    for (const moment of asOf ? [undefined, ...moments] : [undefined]) {
      const asked =
        moment === undefined ? address : `${address}${address.includes('?') ? '&' : '?'}asOf=${moment}`;
      const [one, other] = [await answer(from!, asked), await answer(into!, asked)];
      expect([asked, other]).toEqual([asked, one]);
      if (one.status === 200) read += 1;
    }
  expect(read / all.length).toBeGreaterThan(1.2); // most of them returned rows
});

it('a package made from it is the same package; its history is sound by the command too', async () => {
  await packaged(target!, { target: place('again'), attachmentsDir: place('restored') });
  const [one, other] = [filesOf(place('package')), filesOf(place('again'))];
  expect([...other.keys()]).toEqual([...one.keys()]);
  for (const [name, content] of one)
    if (!/^(manifest\.json|SHA256SUMS|README\.txt|record\/record\.json)$/.test(name))
      expect([name, other.get(name)?.equals(content)]).toEqual([name, true]);
  expect(verified(place('again')).faults).toEqual([]);
  process.env['DATABASE_URL'] = target!.url;
  const { status, out } = await captured('audit', 'verify');
  expect([status, out]).toEqual([
    0,
    expect.stringMatching(/^ALPHA: sound, \d+ entries, head [0-9a-f]{64}; content withheld of entry 1\n$/),
  ]);
});

it('work continues in it: rows get free numbers, the history continues, keys are made again', async () => {
  const { http } = into!;
  const owner = new pg.Client({ connectionString: target!.url });
  await owner.connect();
  const sql = async (text: string): Promise<object[]> => (await owner.query<object>(text)).rows;
  const put = await http.put('/v1/projects/ALPHA/ground-classes/B').send({ description: 'Fair' });
  expect([put.status, put.body]).toEqual([201, expect.objectContaining({ code: 'B' })]);
  expect(
    await sql(
      `select id, (select max(number)::int from history.change) as entry from ground_class where code = 'B'`,
    ),
  ).toEqual([{ id: 101, entry: moments.length + 1 }]);
  expect(await sql(`select * from history.first_fault(1, null, null)`)).toEqual([]);
  // an entry with withheld content is chained like any other
  await sql(`update history.change set reason = 'another' where number = 1`);
  expect(await sql(`select number::int, fault from history.first_fault(1, null, null)`)).toEqual([
    { number: 1, fault: 'who, when or why is not what it sealed, or it follows another entry' },
  ]);
  await owner.end();
});

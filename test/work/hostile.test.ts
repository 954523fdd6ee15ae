import { openApiOf } from '../../src/common/api/openapi.js';
import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { inLong, inTurn, oneIn } from '../harness/sizes.js';
import { HeldLoop, MOST_HELD_MS } from './held-loop.js';
import {
  type Hostile,
  hostileForms,
  hostileJson,
  hostileSamples,
  type Route,
  routesWithBody,
  soundUploads,
} from './hostile.js';
import { type Answer, Sender } from './sender.js';

// Whatever is sent to any route that takes a body, it is refused with a short answer, and nobody else has to wait.
// `npm test` sends each route some of the requests in turn; `npm run test:long` sends the others.

const MOST_ANSWER_BYTES = 256 * 1024;

let app: TestApp;
let address: string;
let routes: Route[];
let loop: HeldLoop;
let sender: Sender;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  address = await app.app.getUrl();
  routes = routesWithBody(openApiOf(app.app));
  loop = new HeldLoop();
  sender = new Sender();
});

afterAll(async () => {
  loop.end();
  await sender.end();
  await app.close();
});

interface Cost extends Answer {
  heldMs: number;
}

const send = async (method: string, url: string, { type, body }: Omit<Hostile, 'what'>): Promise<Cost> => {
  const request = { method, url: address + url, headers: { 'content-type': type } };
  const { answer, heldMs } = await loop.during(() => sender.send(request, new Uint8Array(body)));
  return { ...answer, heldMs };
};

/** Requests that are not refused as they should be. */
const misbehaved = async (
  hostiles: (() => Hostile)[],
  { method, path: route, url }: Pick<Route, 'method' | 'path' | 'url'>,
): Promise<string[]> => {
  const found: string[] = [];
  for (const make of hostiles) {
    const hostile = make();
    const { status, bytes, heldMs } = await send(method, url, hostile);
    if (status < 400 || status >= 500 || bytes > MOST_ANSWER_BYTES || heldMs > MOST_HELD_MS)
      found.push(
        `${method} ${route}, ${hostile.what}: ${status}, ${bytes} bytes, held ${heldMs.toFixed(0)} ms`,
      );
  }
  return found;
};

it('every JSON route quickly refuses wide, deep and long documents', async () => {
  const ofJson = routes.filter(({ types }) => types.includes('application/json'));
  expect(ofJson.length).toBeGreaterThan(30);
  const found: string[] = [];
  for (const [place, route] of ofJson.entries())
    found.push(
      ...(await misbehaved(inTurn(hostileJson(route), place % 10 === 0 ? 1 : 0, place / 10), route)),
    );
  expect(found).toEqual([]);
});

it('every form route refuses workbooks, tables and forms made to be costly', async () => {
  const hostiles = hostileForms().map((hostile) => () => hostile);
  const ofForms = routes.filter(({ types }) => types.includes('multipart/form-data'));
  const few = Math.ceil(hostiles.length / ofForms.length / 2);
  const found: string[] = [];
  for (const [place, route] of ofForms.entries())
    found.push(...(await misbehaved(inTurn(hostiles, few, place * few), route)));
  expect(found).toEqual([]);
});

it('uploads of refused samples do not block the event loop', async () => {
  const route = routes.find(({ types }) => types.includes('application/x-ndjson'));
  expect(route).toBeDefined();
  const hostiles = hostileSamples().map((hostile) => () => hostile);
  if (route) expect(await misbehaved(oneIn(6, hostiles, 2), route)).toEqual([]);
  expect(await app.sql('select * from machine_sample')).toEqual([]);
});

it('GraphQL answers such variables quickly, also once the query is compiled', async () => {
  const query = `mutation ($document: ShiftDocumentInput!) {
    putShift(project: "P1", drive: "N", date: "2027-03-01", shift: "day", document: $document) { outcome } }`;
  const shift = routes.find(({ url, method }) => method === 'PUT' && url.endsWith('/shifts/2027-03-01/day'));
  const found: string[] = [];
  for (const make of hostileJson(shift ?? { names: [], lists: [] }).flatMap((each) => [each, each])) {
    const { what, type, body } = make();
    const text = `{"query":${JSON.stringify(query)},"variables":{"document":${body.toString('utf8').slice(0, 999_000)}}}`;
    const { status, bytes, heldMs } = await send('POST', '/graphql', { type, body: Buffer.from(text) });
    if (status >= 500 || bytes > MOST_ANSWER_BYTES || heldMs > MOST_HELD_MS)
      found.push(`${what}: ${status}, ${bytes} bytes, held ${heldMs.toFixed(0)} ms`);
  }
  expect(found).toEqual([]);
});

it('no route is blocked by valid documents, with lists as long as allowed', async () => {
  const full = routes.flatMap(({ method, path: route, url, fullest }) =>
    fullest
      ? [true, false].map((areAlike) => ({ method, route, url, body: Buffer.from(fullest(areAlike)) }))
      : [],
  );
  expect(full.length).toBeGreaterThan(30);
  const found: string[] = [];
  const largestFirst = full.toSorted((one, other) => other.body.length - one.body.length);
  for (const { method, route, url, body } of oneIn(24, largestFirst)) {
    const { status, heldMs } = await send(method, url, { type: 'application/json', body });
    if (status >= 500 || heldMs > MOST_HELD_MS)
      found.push(`${method} ${route}, ${body.length} bytes: ${status}, held ${heldMs.toFixed(0)} ms`);
  }
  expect(found).toEqual([]);
});

inLong(() => {
  it('nor by large accepted uploads', async () => {
    const found: string[] = [];
    for (const [what, { path: at, type, body }] of Object.entries(soundUploads())) {
      const { status, heldMs } = await send('POST', `/v1/projects/P1/drives/N/${at}`, { type, body });
      if (status !== 200 || heldMs > MOST_HELD_MS)
        found.push(`${what}: ${status}, held ${heldMs.toFixed(0)} ms`);
    }
    expect(found).toEqual([]);
  });
});

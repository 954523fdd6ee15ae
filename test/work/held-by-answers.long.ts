import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../harness/app.js';
import { type Operation, operationsOf } from '../api/operations.js';
import { page } from '../docs/pages.js';
import { HeldLoop, MOST_HELD_MS } from './held-loop.js';
import { Sender } from './sender.js';

// Whatever is read, in whichever format, nobody else has to wait. The drive is bored for 5.4 km and supported over all of it, so that breakdowns along
// the chainage have 5,400 intervals of one metre.

const DAYS = 9;

/** Per day, 5 m in five minutes. */
const STROKES = 120;

/** This many minutes after six. */
const clock = (minutes: number): string => {
  const [hours, rest] = [6 + Math.floor(minutes / 60), minutes % 60];
  return `${String(hours).padStart(2, '0')}:${String(rest).padStart(2, '0')}`;
};

/** This far from the start of the drive. [m] */
const place = (metres: number): string => {
  const at = 1200 + metres;
  return `${Math.floor(at / 1000)}+${String(at % 1000).padStart(3, '0')}`;
};

let app: TestApp;
let address: string;
let gets: Operation[];
let loop: HeldLoop;
let sender: Sender;

beforeAll(async () => {
  loop = new HeldLoop();
  sender = new Sender();
  app = await startApp();
  await aProject(app, {}, { endChainage: '7+200' });
  address = await app.app.getUrl();
  gets = operationsOf(app).filter(({ method }) => method === 'get');
  for (let index = 0; index < DAYS; index += 1) {
    const [date, from, to] = [`2027-03-0${index + 1}`, place(index * 600), place((index + 1) * 600)];
    const strokes = aShift(date, 'day');
    for (let n = 0; n < STROKES; n += 1) {
      const [begin, end] = [place(index * 600 + 5 * n), place(index * 600 + 5 * (n + 1))];
      strokes.withStroke(index * STROKES + n + 1, begin, end, clock(5 * n), clock(5 * n + 5));
      strokes.withSupport('BOLT', begin, end, '5');
    }
    const shift = strokes.withSupport('BOLT', from, to, '600').withSupport('MESH', from, to, '6000').build();
    const { status, body } = await app.http.put(`/v1/projects/P1/drives/N/shifts/${date}/day`).send(shift);
    expect([status, body.errors]).toEqual([201, undefined]);
  }
});

afterAll(async () => {
  loop.end();
  await sender.end();
  await app.close();
});

const ASKED: Record<string, string> = {
  from: '1+200',
  to: '6+600',
  cutOff: '2027-03-31',
  lengthM: '1',
  first: '1000',
};

const addressOf = ({ address: path, parameters }: Operation): string => {
  const asked = parameters.filter(
    ({ in: place, name, required }) =>
      place === 'query' && (required || name === 'lengthM' || name === 'first'),
  );
  const search = asked.map(
    ({ name, schema }) => `${name}=${encodeURIComponent(ASKED[name] ?? schema?.enum?.[0] ?? '10')}`,
  );
  return search.length === 0 ? path : `${path}?${search.join('&')}`;
};

/** Its formats, without event streams. */
const formsOf = ({ responses }: Operation): string[] =>
  Object.keys((responses['200'] as { content?: object } | undefined)?.content ?? {}).filter(
    (type) => type !== 'text/event-stream',
  );

it('no reading blocks the event loop, in any of its formats', async () => {
  const readings = gets.flatMap((get) => formsOf(get).map((accept) => ({ url: addressOf(get), accept })));
  expect(readings.length).toBeGreaterThan(200);
  const found: string[] = [];
  let largest = 0;
  for (const { url, accept } of readings) {
    const request = { url: address + url, method: 'GET', headers: { accept } };
    const { answer, heldMs } = await loop.during(() => sender.send(request));
    largest = Math.max(largest, answer.bytes);
    if (answer.status >= 500 || heldMs > MOST_HELD_MS)
      found.push(
        `${url} as ${accept}: ${answer.status}, ${answer.bytes} bytes, held ${heldMs.toFixed(0)} ms`,
      );
  }
  expect(found).toEqual([]);
  expect(largest).toBeGreaterThan(1_000_000);
});

/** The queries of docs/graphql-examples.md, each with its variables, with the largest page sizes allowed. */
const queriesOfPage = (): { title: string; body: string }[] => {
  const [, chapter = ''] = /^## Queries$([\s\S]*?)^## /m.exec(page('docs/graphql-examples.md')) ?? [];
  return chapter
    .split(/^### /m)
    .slice(1)
    .map((section) => {
      const [title = ''] = section.split('\n');
      const query = [...section.matchAll(/^```graphql\n([\s\S]*?)^```$/gm)].at(-1)?.[1] ?? '';
      const given = JSON.parse(/^```json\n([\s\S]*?)^```$/m.exec(section)?.[1] ?? '{}') as object;
      const variables: Record<string, unknown> = { ...given };
      for (const [name, value] of Object.entries(ASKED))
        if (query.includes(`$${name}: `))
          variables[name] = typeof variables[name] === 'number' ? Number(value) : value;
      return { title, body: JSON.stringify({ query, variables }) };
    });
};

it('no GraphQL query blocks it, even at the limits', async () => {
  const queries = queriesOfPage();
  expect(queries.length).toBeGreaterThan(80);
  const found: string[] = [];
  let largest = 0;
  for (const { title, body } of queries) {
    const request = {
      url: `${address}/graphql`,
      method: 'POST',
      headers: { 'content-type': 'application/json' },
    };
    const { answer, heldMs } = await loop.during(() => sender.send(request, new TextEncoder().encode(body)));
    largest = Math.max(largest, answer.bytes);
    if (answer.status !== 200 || heldMs > MOST_HELD_MS)
      found.push(`${title}: ${answer.status}, ${answer.bytes} bytes, held ${heldMs.toFixed(0)} ms`);
  }
  expect(found).toEqual([]);
  expect(largest).toBeGreaterThan(100_000);
});

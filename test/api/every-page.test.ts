import type { OpenAPIObject } from '@nestjs/swagger';
import { openApiOf } from '../../src/common/api/openapi.js';
import { aShift } from '../builders/shift.js';
import type { Operation } from './operations.js';
import { type Examples, startWithExamples } from './put-examples.js';

// Paged lists, for every operation of the OpenAPI document that takes `after`; Link by RFC 8288.

const D = '/v1/projects/P1/drives/N';

let site: Examples;
let document: OpenAPIObject;
let paged: Operation[];

interface Page {
  items: Record<string, unknown>[];
  next?: unknown;
}

beforeAll(async () => {
  site = await startWithExamples();
  document = openApiOf(site.app.app);
  paged = site.operations.filter(
    ({ method, parameters }) => method === 'get' && parameters.some(({ name }) => name === 'after'),
  );
  for (const shift of [
    aShift('2027-03-03').withStroke(3, '1+203.4', '1+205.1', '06:00', '06:40'),
    aShift('2027-03-04').submitted().withActivity('WAIT', '06:00', '18:00'),
  ]) {
    const { status, text } = await site.app.http.put(`${D}/shifts/${shift.date}/day`).send(shift.build());
    expect([text, status]).toEqual([text, 201]);
  }
});

afterAll(() => site.app.close());

const get = async (address: string): Promise<{ page: Page; link?: string }> => {
  const { status, body, headers, text } = await site.app.http.get(address);
  expect([address, status, text]).toEqual([address, 200, text]);
  return { page: body as Page, link: headers['link'] as string | undefined };
};

it('answer items and next, and accept first', () => {
  expect(paged.length).toBeGreaterThan(12);
  for (const { name, path, parameters } of paged) {
    expect([name, parameters.map((each) => each.name)]).toEqual([name, expect.arrayContaining(['first'])]);
    const { 200: answer } = document.paths[path]?.get?.responses ?? {};
    const { schema } = (answer && !('$ref' in answer) && answer.content?.['application/json']) || {};
    const of_ = schema && '$ref' in schema ? schema.$ref.split('/').at(-1) : '';
    const found = document.components?.schemas?.[of_ ?? ''];
    const properties = Object.keys((found && 'properties' in found && found.properties) || {});
    expect([name, properties]).toEqual([name, expect.arrayContaining(['items', 'next'])]);
    expect([name, answer && 'headers' in answer && Object.keys(answer.headers ?? {})]).toEqual([
      name,
      expect.arrayContaining(['Link']),
    ]);
  }
});

it('link to the next page, which continues where the last one ended, and the last has none', async () => {
  const long: string[] = [];
  for (const { name, address, parameters } of paged) {
    if (parameters.some((each) => each.in === 'query' && each.required)) continue;
    const own = address.replace('/lines/X1/', '/lines/B.1/').replace('/webhooks/X1/', '/webhooks/BOARD/');
    const seen: unknown[] = [];
    for (let next: string | undefined = `${own}?first=1`; next !== undefined;) {
      const { page, link }: { page: Page; link?: string } = await get(next);
      expect([name, page.items.length > 1]).toEqual([name, false]);
      if (seen.length > 0) expect([name, page.items.length]).toEqual([name, 1]); // a next page is never empty
      seen.push(...page.items);
      expect([name, link === undefined]).toEqual([name, page.next == null]);
      next = link === undefined ? undefined : /^<([^>]+)>; rel="next"$/.exec(link)?.[1];
      if (seen.length > 5) break; // the history is long
    }
    const { page } = await get(`${own}?first=${Math.max(1, seen.length)}`);
    expect([name, seen]).toEqual([name, page.items]);
    if (seen.length > 1) long.push(name);
  }
  expect(long.length).toBeGreaterThan(3);
});

describe('the shifts of a drive', () => {
  it('are listed by start, and filtered by date and state, by both APIs alike', async () => {
    const dates = async (search: string): Promise<unknown[]> =>
      (await get(`${D}/shifts?${search}`)).page.items.map(
        ({ date, state }) => `${String(date)} ${String(state)}`,
      );
    const all = [
      '2027-03-01 submitted', // the first two come from the examples
      '2027-03-02 submitted',
      '2027-03-03 draft',
      '2027-03-04 submitted',
    ];
    expect(await dates('')).toEqual(all);
    expect((await dates('from=2027-03-03')).length).toBe(2);
    expect((await dates('to=2027-03-03')).length).toBe(3);
    expect((await dates('from=2027-03-02&to=2027-03-02')).length).toBe(1);
    expect(await dates('state=countersigned')).toEqual([]);
    expect(await dates('state=submitted')).toEqual(all.filter((each) => each.endsWith('submitted')));
    expect(await dates('state=draft')).toEqual(['2027-03-03 draft']);
    const [head] = (await get(`${D}/shifts?first=1`)).page.items;
    const { headers, body } = await site.app.http.get(`${D}/shifts/2027-03-01/day`);
    expect(head).toMatchObject({
      date: '2027-03-01',
      shift: 'day',
      etag: headers['etag'],
      state: body.state,
    });
    const query = `{ drive(project: "P1", drive: "N") { shifts(from: "2027-03-02", first: 1) { pageInfo { hasNextPage endCursor } nodes {
      date shift startsAt endsAt state etag crewLead postedBy submittedAt disputedBy countersignedBy countersignedAt } } } }`;
    const graphql = (await site.app.http.post('/graphql').send({ query })).body;
    const { items, next } = (await get(`${D}/shifts?from=2027-03-02&first=1`)).page;
    expect(graphql.data.drive.shifts).toEqual({
      nodes: items,
      pageInfo: { hasNextPage: true, endCursor: next },
    });
  });

  it('are refused for another state, and by dates in the wrong order', async () => {
    for (const [search, pointer] of [
      ['state=lost', '/state'],
      ['from=2027-03-02&to=2027-03-01', '/to'],
      ['after=yesterday', '/after'],
      ['first=0', '/first'],
    ] as const) {
      const { status, body } = await site.app.http.get(`${D}/shifts?${search}`);
      expect([search, status, body.errors[0].pointer]).toEqual([search, 422, pointer]);
    }
  });
});

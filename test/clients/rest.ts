import createClient from 'openapi-fetch';
import type { components, paths } from './api.js';

// A site's client, compiled with types generated from docs/openapi.json: every path, body and answer below is checked.

type Shift = components['schemas']['ShiftDocumentInput'];

/** What the client has read; the test compares it with the record. */
export interface Seen {
  outcome: string;
  metres: string[];
  again: string;
  numbers: number[];
  refused: string | undefined;
}

const SHIFT = { project: 'P1', drive: 'N', date: '2027-03-01', shift: 'day' };

const boring = (from: string, to: string, startedAt: string, endedAt: string) => ({
  from,
  to,
  startedAt,
  endedAt,
});

export const run = async (baseUrl: string): Promise<Seen> => {
  // Lists have other formats too: this client reads JSON.
  const client = createClient<paths, 'application/json' | 'application/problem+json'>({ baseUrl });
  const address = '/v1/projects/{project}/drives/{drive}/shifts/{date}/{shift}';
  const body: Shift = {
    state: 'draft',
    strokes: [
      { number: 1, borings: [boring('1+200', '1+201.7', '2027-03-01T06:00:00Z', '2027-03-01T06:40:00Z')] },
      { number: 2, borings: [boring('1+201.7', '1+203.4', '2027-03-01T07:00:00Z', '2027-03-01T07:40:00Z')] },
    ],
  };
  const put = await client.PUT(address, { params: { path: SHIFT }, body });
  if (put.error) throw new Error(put.error.detail);

  const got = await client.GET(address, { params: { path: SHIFT } });
  if (got.error) throw new Error(got.error.detail);
  const metres = got.data.strokes.flatMap(({ borings }) => borings.map(({ from, to }) => `${from}–${to}`));

  // What was read is put back unchanged, which its type allows too.
  const tag = got.response.headers.get('etag') ?? '';
  const again = await client.PUT(address, {
    params: { path: SHIFT, header: { 'If-Match': tag } },
    body: got.data,
  });
  if (again.error) throw new Error(again.error.detail);

  const numbers: number[] = [];
  for (let after: number | null = 0; after !== null;) {
    const { data, error }: { data?: components['schemas']['StrokePage']; error?: { detail: string } } =
      await client.GET('/v1/projects/{project}/drives/{drive}/strokes', {
        params: { path: { project: 'P1', drive: 'N' }, query: { first: 1, after } },
      });
    if (!data) throw new Error(error?.detail);
    numbers.push(...data.items.map(({ number }) => number));
    after = data.next;
  }

  const stale = await client.PUT(address, {
    params: { path: SHIFT, header: { 'If-Match': '"of-another-day"' } },
    body: { ...body, remark: 'late' },
  });
  // The status determines the possible types.
  const refused: '/docs/problems#precondition_failed' | undefined =
    stale.error?.status === 412 ? stale.error.type : undefined;
  return { outcome: put.data.outcome, metres, again: again.data.outcome, numbers, refused };
};

/** Must not compile: otherwise the types would be useless. */
export const mistakes = async (baseUrl: string): Promise<void> => {
  // Lists have other formats too: this client reads JSON.
  const client = createClient<paths, 'application/json' | 'application/problem+json'>({ baseUrl });
  const params = { path: { project: 'P1', code: 'L1' } };
  // @ts-expect-error no such path
  await client.GET('/v1/projects/{project}/drive', { params });
  // @ts-expect-error a zone needs its name
  await client.PUT('/v1/projects/{project}/zones/{code}', { params, body: {} });
  const { data } = await client.GET('/v1/projects/{project}', { params: { path: { project: 'P1' } } });
  // @ts-expect-error no such property
  void data?.colour;
};

import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';
import fc from 'fast-check';
import { openApiOf } from '../../src/common/api/openapi.js';
import { type Examples, startWithExamples } from '../api/put-examples.js';
import { Contract } from '../harness/contract.js';
import { seed } from '../harness/seed.js';
import { runs, sized } from '../harness/sizes.js';
import { type Request, requestsTo } from './requests.js';
import type { Schemas } from './values.js';

// Requests made from the OpenAPI document, valid and hostile, to every operation: each is answered as declared, without a failure of the service, and
// refused ones have changed nothing. `npm run fuzz` sends many more, different each time; TEST_SEED repeats them.

/** Anything slower has hung. A loaded machine must not decide: the aim of 2 s is reported, not asserted. [ms] */
const HANGS_MS = 120_000;
const SLOW_MS = 2000;
/** How much memory may rise between the first and the last third of many requests. [bytes] */
const MOST_RISE = 150 * 1024 * 1024;
/** How often memory is read: never for few requests, where it means nothing and garbage collection takes most of the time. */
const READINGS = sized(0, 30);

let site: Examples;
let base: string;
let contract: Contract;

beforeAll(async () => {
  site = await startWithExamples();
  base = await site.app.app.getUrl();
  contract = new Contract(openApiOf(site.app.app));
});

afterAll(() => site.app.close());

/** Number of writes to the record: each is a change of its history. Jobs are not part of it. */
const writes = async (): Promise<string> => {
  const sql = `select concat_ws(' ', (select count(*) from history.change), (select string_agg(id::text, ',' order by id) from job)) as state`;
  return (await site.app.sql<{ state: string }>(sql))[0]?.state ?? '';
};

interface Sent {
  fault: string | undefined;
  status: number;
  tookMs: number;
}

const send = async ({ method, path, url, headers, body }: Request): Promise<Sent> => {
  const from = performance.now();
  try {
    const signal = AbortSignal.timeout(HANGS_MS);
    const answer = await fetch(base + url, { method, headers, body, signal });
    const text = await answer.text();
    const { status } = answer;
    const fault =
      status >= 500
        ? `${status}: ${text.slice(0, 300)}`
        : contract.fault({ method, path, status, headers: answer.headers, text });
    return { fault, status, tookMs: performance.now() - from };
  } catch (error) {
    return { fault: String((error as Error).cause ?? error), status: 0, tookMs: performance.now() - from };
  }
};

/** Whether the answer is that of the intended address; an empty segment, for instance, leads to another. */
const isMeant = ({ path, url }: Request): boolean => {
  const [address = ''] = url.split('?');
  const { pathname } = new URL(base + address);
  return pathname.split('/').length === path.split('/').length && pathname === address;
};

const shownAs = ({ method, url, headers, body }: Request): string =>
  `${method} ${url.slice(0, 300)} ${JSON.stringify(headers).slice(0, 200)} ${body?.slice(0, 300) ?? ''}`;

const { numRuns } = runs(1, 40);

setFlagsFromString('--expose-gc');
const collect = runInNewContext('gc') as () => void;

const heldBytes = (): number => {
  collect();
  return process.memoryUsage().heapUsed;
};

it('every operation answers any input as declared, and writes nothing that it refuses', async () => {
  const schemas = (openApiOf(site.app.app).components?.schemas ?? {}) as Schemas;
  const requests = site.operations.flatMap((operation, place) =>
    place % sized(5, 1) === 0
      ? fc.sample(requestsTo(operation, schemas), { numRuns, seed: seed + place })
      : [],
  );
  const faults: string[] = [];
  const slow: string[] = [];
  const held: number[] = [];
  const counts: Record<number, number> = {};
  let written = await writes();
  let contents = await site.app.contents();
  let isSame = true;
  for (const [index, request] of requests.filter(isMeant).entries()) {
    const { fault, status, tookMs } = await send(request);
    counts[status] = (counts[status] ?? 0) + 1;
    if (fault !== undefined) faults.push(`${shownAs(request)} → ${fault}`);
    if (tookMs > SLOW_MS) slow.push(`${tookMs.toFixed(0)} ms: ${shownAs(request)}`);
    if (request.method !== 'GET') {
      const now = await writes();
      if (status >= 400 && now !== written) faults.push(`${shownAs(request)} → ${status}, and it wrote`);
      if (now !== written) isSame = false;
      written = now;
    }
    if (index % 50 === 49) {
      const now = await site.app.contents();
      if (isSame && now !== contents) faults.push(`one of 50 requests up to ${shownAs(request)} wrote`);
      [contents, isSame] = [now, true];
    }
    if (READINGS > 0 && index % Math.ceil(requests.length / READINGS) === 0) held.push(heldBytes());
  }
  const rise = READINGS > 0 ? Math.min(...held.slice(-10)) - Math.min(...held.slice(5, 15)) : 0;
  if (process.env.FUZZ_REPORT !== undefined)
    process.stdout.write(
      `seed ${seed}: ${requests.length} requests, ${JSON.stringify(counts)}; heap ${(rise / 2 ** 20).toFixed(1)} MB more at the end; ${slow.length} above ${SLOW_MS} ms\n${slow.join('\n')}\n`,
    );
  expect({ seed, faults }).toEqual({ seed, faults: [] });
  expect(rise).toBeLessThan(MOST_RISE);
  expect(Object.keys(counts).length).toBeGreaterThan(5);
});

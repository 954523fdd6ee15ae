import { COMPRESSED_FROM } from '../../src/common/api/encoded.js';
import { DIGEST } from '../../src/common/api/examples/ground.js';
import { addressOf, type Operation } from './operations.js';
import { type Examples, startWithExamples } from './put-examples.js';

// What every GET of the OpenAPI document answers: its compression, entity tags and caching (examples.test.ts: as declared). Expected by RFC 9110, sections 8.4,
// 8.8.3.3, 12.5.3 and 15.4.5, and RFC 9111, section 5.2.

let site: Examples;
let base: string;
let gets: Operation[];

interface Sent {
  status: number;
  headers: Headers;
  /** Unpacked. */
  text: string;
}

const ask = async (method: string, path: string, headers: Record<string, string> = {}): Promise<Sent> => {
  const answer = await fetch(base + path, { method, headers: { 'accept-encoding': 'identity', ...headers } });
  return { status: answer.status, headers: answer.headers, text: await answer.text() };
};

const needed = ({ address, parameters }: Operation): string => {
  const SAMPLES: Record<string, string> = {
    from: '1+200',
    to: '1+300',
    table: 'ground_logs',
    cutOff: '2027-03-31',
  };
  const asked = parameters.filter((each) => each.in === 'query' && each.required);
  const search = asked.map(({ name, schema }) => `${name}=${SAMPLES[name] ?? schema?.enum?.[0] ?? '10'}`);
  return search.length === 0 ? address : `${address}?${search.join('&')}`;
};

beforeAll(async () => {
  site = await startWithExamples();
  base = await site.app.app.getUrl();
  gets = site.operations.filter(({ method }) => method === 'get');
  // enough to make the lists of a project and a drive long
  for (let i = 0; i < 15; i += 1) {
    const put = (path: string, body: object) => site.app.http.put(`/v1/projects/P1/${path}`).send(body);
    const description = `The one of this name that is number ${i} of its kind, with a description of some length`;
    expect((await put(`equipment/E${i}`, { description })).status).toBeLessThan(300);
    expect((await put(`ground-classes/G${i}`, { description })).status).toBeLessThan(300);
    expect((await put(`zones/Z${i}`, { name: description })).status).toBeLessThan(300);
  }
});

afterAll(() => site.app.close());

it('is private, must be revalidated, and names its Vary headers: on every route, failures too', async () => {
  const addresses = [
    ...gets.map(needed),
    '/nowhere',
    '/v1/projects/%zz',
    `/v1/projects/${'x'.repeat(2000)}`,
    '/docs',
  ];
  for (const address of addresses) {
    const { headers } = await ask('GET', address);
    expect([address, headers.get('cache-control'), headers.get('vary')]).toEqual([
      address,
      expect.stringMatching(/^(private, no-cache|(private, )?no-store)$/),
      'accept, accept-encoding, authorization, cookie',
    ]);
  }
  const query = JSON.stringify({ query: '{ __typename }' });
  const answer = await fetch(`${base}/graphql`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: query,
  });
  expect(answer.headers.get('cache-control')).toBe('private, no-cache');
});

it.each(['br', 'gzip'])(
  '%s: is compressed from 1 KB on, on every route, and the same when unpacked',
  async (encoding) => {
    const compressed: string[] = [];
    for (const address of gets.map(needed)) {
      const plain = await ask('GET', address);
      const packed = await ask('GET', address, { 'accept-encoding': encoding });
      const isLong = Buffer.byteLength(plain.text) >= COMPRESSED_FROM;
      const isPacked = !/^(application\/pdf|application\/vnd\.openxml)/.test(
        plain.headers.get('content-type') ?? '',
      );
      expect([address, packed.headers.get('content-encoding')]).toEqual([
        address,
        isLong && isPacked ? encoding : null,
      ]);
      expect(plain.headers.get('content-encoding')).toBeNull();
      if (isPacked) expect([address, packed.text]).toEqual([address, plain.text]);
      if (isLong) compressed.push(address);
      const tag = packed.headers.get('etag');
      if (tag === null) continue;
      // a different representation has a different strong tag, but stands for the same version
      expect([address, tag === plain.headers.get('etag')]).toEqual([address, !(isLong && isPacked)]);
      expect(tag).toMatch(/^"[\x21\x23-\x7e]+"$/);
      const asked = { 'accept-encoding': encoding };
      const again = await ask('GET', address, { ...asked, 'if-none-match': `"x", ${tag}` });
      expect([address, again.status, again.headers.get('etag')]).toEqual([address, 304, tag]);
      expect((await ask('GET', address, { ...asked, 'if-match': tag })).status).toBe(200);
      const head = await ask('HEAD', address, asked);
      expect([address, head.headers.get('etag'), head.headers.get('content-encoding')]).toEqual([
        address,
        tag,
        packed.headers.get('content-encoding'),
      ]);
    }
    expect(compressed.length).toBeGreaterThan(7);
  },
);

const HELD = { diagram: 'advance', version: 'V1', digest: DIGEST, drive: 'N', project: 'P1' };

it('is not sent again to a client that has it, if it is a picture or a file: on every such route', async () => {
  const files = gets.filter(({ path, responses }) => {
    const { content = {} } = responses['200'] as { content?: object };
    const types = Object.keys(content);
    const isOfJob = path.endsWith('/jobs/{number}/result'); // exists only after a job has run: test/watch/jobs
    return types.length > 0 && !isOfJob && !types.some((type) => type.endsWith('json'));
  });
  expect(files.length).toBeGreaterThan(15);
  for (const get of files) {
    expect([get.name, Object.keys(get.responses)]).toEqual([
      get.name,
      expect.arrayContaining(['200', '304', '412']),
    ]);
    const address = needed({ ...get, address: addressOf(get.path, get.parameters, HELD) });
    const { status, headers } = await ask('GET', address);
    const tag = headers.get('etag') ?? '';
    expect([address, status, tag]).toEqual([address, 200, expect.stringMatching(/^"[\x21\x23-\x7e]+"$/)]);
    for (const known of [tag, `W/${tag}`, `"x", ${tag}`, '*']) {
      const held = await ask('GET', address, { 'if-none-match': known });
      expect([address, held.status, held.headers.get('etag'), held.text]).toEqual([address, 304, tag, '']);
    }
    expect((await ask('GET', address, { 'if-none-match': '"another"' })).status).toBe(200);
    const stale = await ask('GET', address, { 'if-match': '"another"' });
    expect([address, stale.status, stale.headers.get('content-disposition')]).toEqual([address, 412, null]);
    expect((await ask('HEAD', address)).headers.get('etag')).toBe(tag);
  }
});

it('is not compressed for a client that does not accept it', async () => {
  for (const given of ['identity', 'zstd', 'gzip;q=0', 'br;q=0, identity']) {
    const { headers } = await ask('GET', '/v1/openapi.json', { 'accept-encoding': given });
    expect([given, headers.get('content-encoding')]).toEqual([given, null]);
  }
});

it('can be replaced by the tag of the compressed version', async () => {
  const url = '/v1/projects/P1/ground-classes/A';
  const long = 'x'.repeat(400);
  expect((await site.app.http.put(url).send({ description: long })).status).toBeLessThan(300);
  const { headers } = await ask('GET', url, { 'accept-encoding': 'gzip' });
  const tag = String(headers.get('etag')).replace(/(;gzip)?"$/, ';gzip"');
  expect((await site.app.http.put(url).set('if-match', tag).send({ description: 'short' })).status).toBe(200);
  expect((await site.app.http.put(url).set('if-match', tag).send({ description: 'late' })).status).toBe(412);
});

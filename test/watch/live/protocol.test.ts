import { jest } from '@jest/globals';
import type { AddressInfo } from 'node:net';
import { mintApiKey } from '../../../src/common/auth/api-keys.js';
import { OWNER, type Site, startSite } from '../../access/site.js';
import { until } from '../../harness/until.js';
import { dial, enter, type Peer } from './peer.js';

// Close codes: https://github.com/enisdenjo/graphql-ws/blob/master/PROTOCOL.md
const OWN_HOST = '127.0.0.1';

let site: Site;
let port: number;
let url: string;
const peers: Peer[] = [];
/** Errors in the log. */
const failures: unknown[] = [];

beforeAll(async () => {
  site = await startSite({
    CORS_ORIGINS: 'https://office.example',
    GRAPHQL_MAX_COST: '1000',
    WS_CONNECTIONS_PER_ADDRESS: '8',
    WS_CONNECTIONS_PER_CALLER: '3',
    WS_SUBSCRIPTIONS_PER_CALLER: '4',
    WS_PING_S: '1',
  });
  const { log } = site.app.getHttpAdapter().getInstance();
  const child = log.child.bind(log);
  const error = (...written: unknown[]): void => void failures.push(written);
  jest.spyOn(log, 'child').mockImplementation((...given) => Object.assign(child(...given), { error }));
  ({ port } = site.app.getHttpServer().address() as AddressInfo);
  url = `ws://${OWN_HOST}:${port}/graphql`;
  await site.project('MINE');
  const owner = await site.as(OWNER);
  const drive = {
    name: 'Trial',
    startChainage: '1+200',
    endChainage: '2+200',
    direction: 1,
    boredDiameterM: '7',
  };
  expect((await owner.put('/v1/projects/MINE/drives/N', drive)).status).toBeLessThan(300);
});

afterEach(async () => {
  for (const { socket, closed } of peers.splice(0)) {
    socket.terminate();
    await closed;
  }
  // Wait until the service has noticed that all are gone.
  while (site.app.getHttpAdapter().getInstance().websocketServer.clients.size > 0)
    await new Promise((resolve) => setTimeout(resolve, 10));
});

afterAll(() => site.close());

const kept = (peer: Peer): Peer => {
  peers.push(peer);
  return peer;
};

const anonymous = async (...given: Parameters<typeof dial> extends [string, ...infer Rest] ? Rest : never) =>
  kept(await dial(url, ...given));

const bearer = async (subject: string): Promise<string> => `Bearer ${await site.token(subject)}`;

const proven = async (subject = OWNER): Promise<Peer> => kept(await enter(url, await bearer(subject)));

const FACE = 'subscription { facePosition(project: "MINE", drive: "N") { faceChainage } }';

const subscription = (id: string, query = FACE) => ({ type: 'subscribe', id, payload: { query } });

const FIRST = { type: 'next', payload: { data: { facePosition: { faceChainage: '1+200.000' } } } };

describe('before its credential is verified, a connection', () => {
  it('is closed with 4401 when it subscribes', async () => {
    const peer = await anonymous();
    peer.send(subscription('1'));
    expect(await peer.closed).toEqual([4401, 'Unauthorized']);
  });

  it('is closed with 4401 when it subscribes while the credential is being verified', async () => {
    const peer = await anonymous();
    peer.send({ type: 'connection_init', payload: { authorization: await bearer(OWNER) } });
    peer.send(subscription('1'));
    expect((await peer.closed)[0]).toBe(4401);
  });

  it.each([
    ['none', undefined, 'Send an access token or an API key: Authorization: Bearer …'],
    ['one that is not a token', { authorization: 'Bearer nonsense' }, 'The access token cannot be read.'],
    [
      'one that is not a text',
      { authorization: { toString: 'x' } },
      'The Authorization header must read: Bearer and one token.',
    ],
    [
      'a key nobody has',
      { authorization: `Bearer ${mintApiKey().text}` },
      'The API key is not known, has expired or was revoked.',
    ],
  ])('is closed with 4401 when it presents %s', async (_, payload, reason) => {
    const peer = await anonymous();
    peer.send({ type: 'connection_init', payload });
    expect(await peer.closed).toEqual([4401, reason]);
  });

  it('is closed with 4408 when it sends nothing', async () => {
    expect((await (await anonymous()).closed)[0]).toBe(4408);
  });

  it('is closed with 4429 when it initialises twice', async () => {
    const peer = await anonymous();
    const init = { type: 'connection_init', payload: { authorization: await bearer(OWNER) } };
    peer.send(init);
    peer.send(init);
    expect((await peer.closed)[0]).toBe(4429);
  });

  it('may authenticate by its header', async () => {
    const peer = await anonymous({ headers: { authorization: await bearer(OWNER) } });
    peer.send({ type: 'connection_init' });
    expect(await peer.next()).toEqual({ type: 'connection_ack' });
    peer.send(subscription('1'));
    expect(await peer.next()).toEqual({ ...FIRST, id: '1' });
  });

  it('is refused with a wrong header', async () => {
    await expect(dial(url, { headers: { authorization: 'Bearer nonsense' } })).rejects.toThrow('401');
  });
});

describe('a connection', () => {
  it.each([
    ['invalid JSON', 'nonsense'],
    ['JSON that is not an object', '[]'],
    ['no type', '{}'],
    ['an unknown type', '{"type":"start"}'],
    ['no id', JSON.stringify({ ...subscription('1'), id: undefined })],
    ['no query', '{"type":"subscribe","id":"1","payload":{}}'],
    ['a parsed query', '{"type":"subscribe","id":"1","payload":{"query":{"kind":"Document"}}}'],
    [
      'variables that are not an object',
      '{"type":"subscribe","id":"1","payload":{"query":"x","variables":"x"}}',
    ],
    ['deep nesting', '['.repeat(100_000)],
  ])('is closed with 4400 when it sends %s', async (_, text) => {
    const peer = await proven();
    peer.send(text);
    expect((await peer.closed)[0]).toBe(4400);
  });

  it('is closed with 4409 when it uses an id twice', async () => {
    const peer = await proven();
    peer.send(subscription('1'));
    await peer.next();
    peer.send(subscription('1'));
    expect((await peer.closed)[0]).toBe(4409);
  });

  it('is closed with 1009 when a message is too large', async () => {
    const peer = await proven();
    peer.send(' '.repeat(256 * 1024 + 1));
    expect((await peer.closed)[0]).toBe(1009);
  });

  it.each(['', 'graphql-ws'])(
    'with another protocol, such as %j, is closed with 4406 or refused',
    async (name) => {
      const outcome = await dial(url, {}, name).then(
        async (peer) => (await kept(peer).closed)[0],
        (error: Error) => error.message,
      );
      // The client library refuses an answer without the protocol it asked for.
      expect([4406, 'Server sent no subprotocol']).toContain(outcome);
    },
  );

  it.each([
    'query { projects { code } }',
    'mutation { putActivityCode(project: "MINE", code: "X", input: { description: "x", countsAs: boring }) { code } }',
  ])('serves no %s', async (query) => {
    const peer = await proven();
    peer.send(subscription('1', query));
    const { type, payload } = await peer.next();
    expect([type, payload]).toEqual([
      'error',
      [
        expect.objectContaining({
          message: 'A WebSocket serves subscriptions only: send queries and mutations by POST.',
        }),
      ],
    ]);
  });
});

describe('a page', () => {
  it.each([
    'https://evil.example',
    'null',
    'http://localhost:3000',
    'http://127.0.0.1:1',
    'https://office.example.evil.example',
  ])('of %s opens no connection', async (origin) => {
    await expect(dial(url, { origin })).rejects.toThrow('403');
  });

  it('of the same host and of CORS_ORIGINS opens one', async () => {
    await anonymous({ origin: `http://${OWN_HOST}:${port}` });
    await anonymous({ origin: 'https://office.example' });
  });
});

describe('the limits of a query', () => {
  const fields = (count: number, field: (index: number) => string): string =>
    `subscription { facePosition(project: "MINE", drive: "N") { ${Array.from({ length: count }, (_, i) => field(i)).join(' ')} } }`;
  /** By hand: 100 for what is read, 30 × 30 by the fragment, 1. */
  const COSTLY = `subscription { facePosition(project: "MINE", drive: "N") { ${'...F '.repeat(30)} boredM } }
    fragment F on DriveProgress { ${'boredM '.repeat(30)} }`;
  const deep = (levels: number): string =>
    `query Deep { __schema { types { ${'ofType { '.repeat(levels)}name${' }'.repeat(levels)} } } }`;

  it.each([
    ['length', `${FACE} # ${'x'.repeat(40_000)}`, 'characters and the limit is 40,000'],
    ['tokens', fields(2000, () => 'boredM'), 'tokens'],
    ['JSON', JSON.stringify({ kind: 'Document', definitions: [] }), 'must be GraphQL, not JSON'],
    ['syntax', 'subscription {', 'Syntax Error'],
    ['schema', fields(1, () => 'nonsense'), 'Cannot query field'],
    ['aliases', fields(31, (i) => `a${i}: boredM`), 'The query has 31 aliases and the limit is 30.'],
    ['cost', COSTLY, 'The query costs 1,001 and the limit is 1,000'],
    [
      'depth',
      `${FACE.replace('subscription', 'subscription S')} ${deep(15)}`,
      'The query is 18 levels deep and the limit is 16.',
    ],
  ])('of %s refuse a subscription in the same words as by POST', async (_, query, message) => {
    const peer = await proven();
    const asked = { query, operationName: query.includes('subscription S') ? 'S' : undefined };
    peer.send({ type: 'subscribe', id: '1', payload: asked });
    const answer = await peer.next();
    const { body } = await site.http
      .post('/graphql')
      .set('authorization', await bearer(OWNER))
      .send(asked);
    expect(answer).toEqual({ type: 'error', id: '1', payload: (body as { errors: unknown }).errors });
    expect(JSON.stringify(answer.payload)).toContain(message);
    expect(answer.payload).toEqual([
      expect.objectContaining({
        extensions: expect.objectContaining({ code: expect.stringMatching(/^(malformed|invalid)$/) }),
      }),
    ]);
    expect(failures).toEqual([]);
    peer.send(subscription('1'));
    expect(await peer.next()).toEqual({ ...FIRST, id: '1' }); // the connection stays open
  });
});

it('do not serve a subscription by POST', async () => {
  const { body } = await (await site.as(OWNER)).graphql(FACE);
  expect(body).toMatchObject({
    errors: [{ message: 'Subscriptions are served over WebSocket only.', extensions: { status: 400 } }],
  });
});

describe('the number', () => {
  it('of connections from an address is limited, before authentication, and freed when they close', async () => {
    for (let i = 0; i < 8; i += 1) await anonymous();
    await expect(dial(url)).rejects.toThrow('429');
    const [first] = peers;
    first?.socket.terminate();
    for (;;) {
      const opened = await dial(url).catch(() => undefined);
      if (opened) return void kept(opened);
    }
  });

  it('of connections of a caller is limited', async () => {
    for (let i = 0; i < 3; i += 1) await proven();
    const peer = await anonymous();
    peer.send({ type: 'connection_init', payload: { authorization: await bearer(OWNER) } });
    expect(await peer.closed).toEqual([4429, 'More than 3 connections of one caller.']);
    await site.sql(`insert into administrator (subject) values ('second') on conflict do nothing`);
    await proven('second');
  });

  it('of subscriptions of a caller is limited over all connections, and freed when they end', async () => {
    const [one, other] = [await proven(), await proven()];
    for (const id of ['1', '2']) {
      for (const peer of [one, other]) {
        peer.send(subscription(id));
        expect((await peer.next()).type).toBe('next');
      }
    }
    one.send(subscription('3'));
    expect(await one.next()).toMatchObject({
      type: 'error',
      id: '3',
      payload: [{ message: 'More than 4 subscriptions of one caller.', extensions: { status: 429 } }],
    });
    other.send({ type: 'complete', id: '1' });
    other.send({ type: 'ping' });
    expect((await other.next()).type).toBe('pong'); // messages are handled in order
    one.send(subscription('3'));
    expect((await one.next()).type).toBe('next');
  });
});

describe('a connection', () => {
  const made = async (name: string, project = 'MINE'): Promise<{ key: string; prefix: string }> => {
    const owner = await site.as(OWNER);
    const { body } = await owner.post(`/v1/projects/${project}/api-keys`, { name, scopes: ['record.read'] });
    return body as { key: string; prefix: string };
  };

  it('ends when its key is revoked, even while nothing happens', async () => {
    const { key, prefix } = await made('board');
    const peer = kept(await enter(url, `Bearer ${key}`));
    peer.send(subscription('1'));
    await peer.next();
    await (await site.as(OWNER)).delete(`/v1/projects/MINE/api-keys/${prefix}`);
    expect(await peer.closed).toEqual([4401, 'The API key is not known, has expired or was revoked.']);
  });

  it('ends when its key expires', async () => {
    const { key, prefix } = await made('short');
    const peer = kept(await enter(url, `Bearer ${key}`));
    await site.sql(`update api_key set expires_at = now() where prefix = $1`, [prefix]);
    expect((await peer.closed)[0]).toBe(4401);
  });

  it('is pinged by messages once authenticated, which do not count for its caller', async () => {
    const [silent, peer] = [await anonymous(), await proven()];
    await until(() => peer.pings() >= 2);
    expect(silent.pings()).toBe(0);
    peer.send(subscription('1'));
    expect(await peer.next()).toEqual({ ...FIRST, id: '1' });
  });

  it('is dropped when its peer no longer answers', async () => {
    const peer = kept(await dial(url, { autoPong: false, headers: { authorization: await bearer(OWNER) } }));
    peer.send({ type: 'connection_init' });
    await peer.next();
    expect((await peer.closed)[0]).toBe(1006); // not closed by the protocol: terminated
  });

  it('is cut off when its peer does not read, with little queued until then', async () => {
    const { clients } = site.app.getHttpAdapter().getInstance().websocketServer;
    const peer = await proven();
    peer.socket.pause();
    // Each is answered with as much data: far more than the network buffers.
    for (let i = 0; i < 150; i += 1) peer.send({ type: 'ping', payload: { text: 'x'.repeat(200_000) } });
    let most = 0;
    while (clients.size > 0) {
      for (const { bufferedAmount } of clients) most = Math.max(most, bufferedAmount);
      await new Promise((resolve) => setTimeout(resolve, 1));
    }
    expect(most).toBeLessThan(2_000_000);
    peer.socket.resume();
    expect((await peer.closed)[0]).toBe(1006);
  });

  it('is kept while its peer answers', async () => {
    const peer = await proven();
    let pings = 0;
    await new Promise<void>((resolve) => peer.socket.on('ping', () => (pings += 1) === 3 && resolve()));
    peer.send({ type: 'ping' });
    expect((await peer.next()).type).toBe('pong');
  });
});

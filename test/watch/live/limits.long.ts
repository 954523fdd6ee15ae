import type { AddressInfo } from 'node:net';
import { OWNER, type Site, startSite } from '../../access/site.js';
import { dial, enter, type Peer } from './peer.js';

let site: Site;
let url: string;
const peers: Peer[] = [];

const start = async (settings: NodeJS.ProcessEnv): Promise<void> => {
  site = await startSite({ ...settings });
  url = `ws://127.0.0.1:${(site.app.getHttpServer().address() as AddressInfo).port}/graphql`;
};

afterEach(async () => {
  for (const { socket } of peers.splice(0)) socket.terminate();
  await site.close();
});

const kept = (peer: Peer): Peer => {
  peers.push(peer);
  return peer;
};

const get = async (credential: string): Promise<number> =>
  (await site.bearing(credential).get('/v1/projects')).status;

const NOBODYS = 'subscription { facePosition(project: "MINE", drive: "N") { boredM } }';

describe('messages', () => {
  it('count as requests of their caller, and requests count as messages', async () => {
    await start({ RATE_LIMIT_PER_MINUTE: '6' });
    const token = await site.token(OWNER);
    const peer = kept(await enter(url, `Bearer ${token}`)); // 1
    for (const id of ['1', '2']) {
      peer.send({ type: 'subscribe', id, payload: { query: NOBODYS } }); // 2, 3
      expect((await peer.next()).type).toBe('next');
      expect((await peer.next()).type).toBe('complete');
    }
    peer.send({ type: 'ping' }); // 4
    expect((await peer.next()).type).toBe('pong');
    expect([await get(token), await get(token), await get(token)]).toEqual([200, 200, 429]);
    peer.send({ type: 'subscribe', id: '3', payload: { query: NOBODYS } });
    expect(await peer.next()).toMatchObject({
      type: 'error',
      id: '3',
      payload: [{ extensions: { status: 429, type: '/docs/problems#too_many_requests' } }],
    });
    expect(await get(await site.token('another'))).toBe(200);
  });

  it.each([
    ['messages', (peer: Peer) => peer.send({ type: 'complete', id: 'x' })],
    ['pings', (peer: Peer) => peer.socket.ping()],
  ])('in excess close the connection: %s', async (_, send) => {
    await start({ RATE_LIMIT_PER_MINUTE: '20' });
    const peer = kept(await enter(url, `Bearer ${await site.token(OWNER)}`));
    for (let i = 0; i < 25; i += 1) send(peer);
    expect(await peer.closed).toEqual([4429, 'More than 20 messages within a minute.']);
  });
});

describe('wrong credentials', () => {
  it('on connections count with those of requests, and do not shut out a valid one', async () => {
    await start({ AUTH_FAILURES_PER_MINUTE: '4' });
    const guess = async (): Promise<number> => {
      const peer = kept(await dial(url));
      peer.send({ type: 'connection_init', payload: { authorization: 'Bearer nonsense' } });
      return (await peer.closed)[0];
    };
    expect([await guess(), await get('wrong'), await guess(), await get('wrong')]).toEqual([
      4401, 401, 4401, 401,
    ]);
    expect([await guess(), await get('wrong')]).toEqual([4429, 429]);
    kept(await enter(url, `Bearer ${await site.token(OWNER)}`));
  });
});

it('connections count as requests of their address', async () => {
  await start({ RATE_LIMIT_PER_MINUTE: '3' });
  for (let i = 0; i < 3; i += 1) kept(await dial(url));
  await expect(dial(url)).rejects.toThrow('429');
});

it('a stopping service tells its connections', async () => {
  await start({});
  const peer = kept(await enter(url, `Bearer ${await site.token(OWNER)}`));
  await site.app.close();
  expect((await peer.closed)[0]).toBe(1001);
});

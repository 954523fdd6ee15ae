import { once } from 'node:events';
import { createServer, type IncomingMessage } from 'node:http';
import type { AddressInfo } from 'node:net';
import { onePieceATurn } from '../../src/common/api/body-turns.js';
import { Sender } from '../work/sender.js';

const BYTES = 8 * 1024 * 1024;

/** Most chunks of a body delivered in one turn of the event loop, and their total size. */
const given = async (body: IncomingMessage): Promise<{ most: number; bytes: Buffer }> => {
  let [most, inTurn] = [0, 0];
  const pieces: Buffer[] = [];
  body.on('data', (piece: Buffer) => {
    if (inTurn === 0) setImmediate(() => (inTurn = 0));
    inTurn += 1;
    most = Math.max(most, inTurn);
    pieces.push(piece);
    const until = performance.now() + 5;
    while (performance.now() < until); // simulates work on a chunk, while more arrive
  });
  await once(body, 'end');
  return { most, bytes: Buffer.concat(pieces) };
};

it('a body arrives one piece per turn of the event loop, whole and in order', async () => {
  const seen: { most: number; bytes: Buffer }[] = [];
  const server = createServer((request, reply) => {
    onePieceATurn(request);
    void given(request).then((what) => {
      seen.push(what);
      reply.end();
    });
  }).listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address() as AddressInfo;
  const sender = new Sender();
  const body = Uint8Array.from({ length: BYTES }, (_, index) => index % 251);
  try {
    const request = {
      method: 'POST',
      url: `http://127.0.0.1:${port}/`,
      headers: { 'content-type': 'application/octet-stream' },
    };
    for (let time = 0; time < 2; time += 1)
      // also the next one on the connection
      expect((await sender.send(request, body.slice())).status).toBe(200);
    for (const { most, bytes } of seen) {
      expect(most).toBe(1);
      expect(bytes.equals(body)).toBe(true);
    }
    expect(seen).toHaveLength(2);
  } finally {
    await sender.end();
    server.close();
    server.closeAllConnections();
  }
});

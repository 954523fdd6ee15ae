import { once } from 'node:events';
import { Writable } from 'node:stream';
import { EventStream, type ServerEvent } from '../../../src/common/api/event-stream.js';
import { until } from '../../harness/until.js';

const BEAT_MS = 30;

/** An endless source, and how much was requested of it. */
const endless = () => {
  const seen = { asked: 0, ended: 0 };
  const source: AsyncIterator<ServerEvent, undefined> = {
    next: () => {
      seen.asked += 1;
      return Promise.resolve({ done: false, value: { id: seen.asked, data: 'x'.repeat(1000) } });
    },
    return: () => {
      seen.ended += 1;
      return Promise.resolve({ done: true, value: undefined });
    },
  };
  return { source, seen };
};

const options = (beats = { count: 0 }) => ({
  beatMs: BEAT_MS,
  beat: () => {
    beats.count += 1;
    return Promise.resolve();
  },
  failed: (error: unknown) => ({ event: 'problem', data: String(error) }),
});

it('a reader that stops reading builds up no backlog, and is cut off', async () => {
  const { source, seen } = endless();
  const stream = new EventStream(source, options());
  stream.pipe(new Writable({ highWaterMark: 1, write: () => undefined })); // takes only one chunk
  await once(stream, 'close');
  // By hand: 16 KB wait in the stream, about 1 KB an event.
  expect(seen.asked).toBeLessThan(25);
  expect(seen.ended).toBe(1);
});

it('a slow reader is not', async () => {
  const { source, seen } = endless();
  const beats = { count: 0 };
  const stream = new EventStream(source, options(beats));
  let read = 0;
  stream.pipe(
    new Writable({
      highWaterMark: 1,
      write: (_piece, _encoding, done) => {
        read += 1;
        setTimeout(done, 1);
      },
    }),
  );
  await until(() => beats.count > 6);
  expect([stream.destroyed, seen.asked - read < 25]).toEqual([false, true]);
  stream.destroy();
  await once(stream, 'close');
});

it('a failure of its source ends the stream with a message, and so does one of a heartbeat', async () => {
  const silent = { next: () => new Promise<never>(() => undefined) };
  const broken = { next: () => Promise.reject(new Error('gone')) };
  for (const [source, beat] of [
    [broken, () => Promise.resolve()],
    [silent, () => Promise.reject(new Error('gone'))],
  ] as const) {
    let text = '';
    for await (const piece of new EventStream(source, { ...options(), beat })) text += String(piece);
    expect(text).toBe('retry: 3000\n\nevent: problem\ndata: "Error: gone"\n\n');
  }
});

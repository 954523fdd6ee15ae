import { LiveStream } from '../../../src/features/watch/live/live-stream.js';

/** A stream of the pages, and how often it was left. */
const streamOf = (pages: string[][]) => {
  const seen = { reads: 0, left: 0 };
  const stream = new LiveStream(
    () => () => (seen.left += 1),
    () => {
      seen.reads += 1;
      const values = pages.shift() ?? [];
      return Promise.resolve({ values, more: pages.length > 0 });
    },
  );
  return { stream, seen };
};

it('reads on while there is more, and only once the last was consumed', async () => {
  const { stream, seen } = streamOf([['a', 'b'], ['c']]);
  expect([(await stream.next()).value, seen.reads]).toEqual(['a', 1]);
  expect([(await stream.next()).value, seen.reads]).toEqual(['b', 1]);
  expect([(await stream.next()).value, seen.reads]).toEqual(['c', 2]);
});

it('leaves once, however often it ends', async () => {
  const { stream, seen } = streamOf([['a']]);
  await stream.return();
  await stream.return();
  expect(seen.left).toBe(1);
  expect(await stream.next()).toEqual({ done: true, value: undefined });
});

import { Places } from '../../src/common/work/places.js';

/** Work that ends on request. */
const held = () => {
  let end = (): void => undefined;
  const promise = new Promise<void>((resolve) => (end = resolve));
  const begun = { is: false };
  return {
    begun,
    end: () => end(),
    work: async () => {
      begun.is = true;
      await promise;
      return 'done';
    },
  };
};

const settled = async (): Promise<void> => {
  for (let turn = 0; turn < 20; turn += 1) await Promise.resolve();
};

const GONE = { code: 'unavailable', message: expect.stringContaining('was cancelled') };

it('runs a limited number of tasks at once, in order, and refuses any beyond the queue', async () => {
  const places = new Places('drawings', 2, 1);
  const [first, second, third, fourth] = [held(), held(), held(), held()];
  const answers = [first, second, third].map(({ work }) => places.run(work));
  await expect(places.run(fourth.work)).rejects.toMatchObject({
    code: 'unavailable',
    message: '1 drawings are waiting already. Try again.',
  });
  await settled();
  expect([first, second, third, fourth].map(({ begun }) => begun.is)).toEqual([true, true, false, false]);
  second.end();
  await answers[1];
  await settled();
  expect(third.begun.is).toBe(true);
  first.end();
  third.end();
  expect(await Promise.all(answers)).toEqual(['done', 'done', 'done']);
});

it('does not begin work whose sender disconnected, and gives its place to the next', async () => {
  const places = new Places('drawings', 1, 1);
  const [first, second, third] = [held(), held(), held()];
  const leaving = new AbortController();
  const answer = places.run(first.work);
  const given = places.run(second.work, leaving.signal);
  leaving.abort();
  await expect(given).rejects.toMatchObject(GONE);
  await expect(places.run(second.work, leaving.signal)).rejects.toMatchObject(GONE);
  const last = places.run(third.work); // there is room to wait again
  first.end();
  await answer;
  third.end();
  expect(await last).toBe('done');
  expect(second.begun.is).toBe(false);
});

it('frees the place of failed work', async () => {
  const places = new Places('drawings', 1, 0);
  await expect(places.run(() => Promise.reject(new Error('broken')))).rejects.toThrow('broken');
  expect(await places.run(() => Promise.resolve(1))).toBe(1);
});

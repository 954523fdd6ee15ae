/** How long work may block the event loop before it yields. [ms] */
const TURN_MS = 8;

const waiting: (() => void)[] = [];

/** One at a time, however many are waiting: between two turns the event loop serves everything else. */
const next = (): void => {
  waiting.shift()?.();
  if (waiting.length > 0) setImmediate(next);
};

const queued = (): Promise<void> =>
  new Promise((resolve) => {
    waiting.push(resolve);
    if (waiting.length === 1) setImmediate(next);
  });

/**
 * Work that grows with its input, done in turns: between steps it checks whether its turn is over, and then waits for the next.
 * All such work shares the turns, so that many requests together block the event loop no longer than one.
 */
export class Turns {
  private until = performance.now() + TURN_MS;

  get isOver(): boolean {
    return performance.now() >= this.until;
  }

  /** Waits for the next turn of this work. */
  async wait(): Promise<void> {
    await queued();
    this.until = performance.now() + TURN_MS;
  }
}

/** Maps a long list over several turns of the event loop. */
export const mapInTurns = async <T, U>(
  items: readonly T[],
  map: (item: T, index: number) => U,
): Promise<U[]> => {
  const turns = new Turns();
  const mapped: U[] = [];
  for (const [index, item] of items.entries()) {
    if (turns.isOver) await turns.wait();
    mapped.push(map(item, index));
  }
  return mapped;
};

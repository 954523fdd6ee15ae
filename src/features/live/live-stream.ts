/**
 * Values read anew each time that something has changed, for as long as somebody follows. Changes that come while it
 * reads are one.
 */
export class LiveStream<T> implements AsyncIterableIterator<T> {
  private readonly queue: T[] = [];
  private changed = true;
  private over = false;
  private wake: () => void = () => undefined;
  private readonly leave: () => void;

  /**
   * @param listen  asks to be called at each change, and returns what ends that
   * @param read    what there is to tell since it was called last; its failure ends the stream
   */
  constructor(
    listen: (call: () => void) => () => void,
    private readonly read: () => Promise<T[]>,
  ) {
    this.leave = listen(() => {
      this.changed = true;
      this.wake();
    });
  }

  async next(): Promise<IteratorResult<T, undefined>> {
    while (!this.over) {
      const value = this.queue.shift();
      if (value !== undefined) return { done: false, value };
      if (!this.changed) await new Promise<void>((resolve) => (this.wake = resolve));
      else await this.readAgain();
    }
    return { done: true, value: undefined };
  }

  private async readAgain(): Promise<void> {
    this.changed = false;
    try {
      this.queue.push(...(await this.read()));
    } catch (error) {
      await this.return();
      throw error;
    }
  }

  return(): Promise<IteratorResult<T, undefined>> {
    this.over = true;
    this.leave();
    this.wake();
    return Promise.resolve({ done: true, value: undefined });
  }

  [Symbol.asyncIterator](): this {
    return this;
  }
}

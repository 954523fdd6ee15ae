/** News to report; `more`: there is more than was read. */
export interface News<T> {
  values: T[];
  more?: boolean;
}

/**
 * Values read again each time something has changed, for as long as there is a follower. Changes during a reading are combined. It
 * reads only when the next value is requested and none is left, so nothing accumulates for a slow follower.
 */
export class LiveStream<T> implements AsyncIterableIterator<T> {
  private readonly queue: T[] = [];
  private changed = true;
  private over = false;
  private wake: () => void = () => undefined;
  private readonly leave: () => void;

  /**
   * @param listen  registers a callback for changes, and returns a function that removes it
   * @param read    news since its last call; if it fails, the stream ends
   */
  constructor(
    listen: (call: () => void) => () => void,
    private readonly read: () => Promise<News<T>>,
  ) {
    this.leave = listen(() => this.readOn());
  }

  /** Triggers another reading, as a change does. */
  readOn(): void {
    this.changed = true;
    this.wake();
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
      const { values, more = false } = await this.read();
      this.queue.push(...values);
      if (more) this.changed = true;
    } catch (error) {
      await this.return();
      throw error;
    }
  }

  return(): Promise<IteratorResult<T, undefined>> {
    if (!this.over) this.leave(); // called more than once when a connection breaks
    this.over = true;
    this.wake();
    return Promise.resolve({ done: true, value: undefined });
  }

  [Symbol.asyncIterator](): this {
    return this;
  }
}

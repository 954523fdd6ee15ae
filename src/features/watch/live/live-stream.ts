/** What there is to tell; `more`: there is more of it than was read. */
export interface News<T> {
  values: T[];
  more?: boolean;
}

/**
 * Values read again each time that something has changed, for as long as somebody follows. Changes that come while it
 * reads are one. It reads when it is asked for the next value and has none left: a slow follower makes nothing pile up.
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
    private readonly read: () => Promise<News<T>>,
  ) {
    this.leave = listen(() => this.readOn());
  }

  /** Has it read again, as after a change. */
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
    if (!this.over) this.leave(); // asked more than once when a connection breaks
    this.over = true;
    this.wake();
    return Promise.resolve({ done: true, value: undefined });
  }

  [Symbol.asyncIterator](): this {
    return this;
  }
}

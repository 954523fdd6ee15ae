import { Readable } from 'node:stream';

export const EVENT_STREAM = 'text/event-stream';

/** One block of an event stream (WHATWG HTML, section 9.2.5). */
export interface ServerEvent {
  /** From where a returning reader resumes. In a block without data, the reader keeps the id and dispatches nothing. */
  id?: number;
  /** Event type; `message` by default. */
  event?: string;
  data?: unknown;
}

/** Delay before a reader reconnects. [ms] */
const RETRY_MS = 3000;

/** Most data that waits for a reader, beside what the network buffers. [bytes] */
const WAITING = 16 * 1024;

/** Consecutive heartbeats that a reader may leave unread before it is disconnected. */
const MAX_UNREAD = 2;

const KEEP_ALIVE = ': keep-alive\n\n';

/** JSON escapes line ends, so the data is one line. */
const textOf = ({ id, event, data }: ServerEvent): string =>
  [
    ...(event === undefined ? [] : [`event: ${event}`]),
    ...(id === undefined ? [] : [`id: ${id}`]),
    ...(data === undefined ? [] : [`data: ${JSON.stringify(data)}`]),
    '\n',
  ].join('\n');

interface Options {
  /** Heartbeat interval. [ms] */
  beatMs: number;
  /** Called at each heartbeat; the stream ends if it fails. */
  beat(): Promise<void>;
  /** The last event of a stream that failed. */
  failed(error: unknown): ServerEvent;
}

/**
 * The events of a source as text. The next event is requested only after the last was taken, so nothing accumulates for a slow
 * reader, and one that stops reading is disconnected. The source ends with the stream.
 */
export class EventStream extends Readable {
  private readonly timer: NodeJS.Timeout;
  private wake: () => void = () => undefined;
  private come: IteratorResult<ServerEvent, undefined> | undefined;
  private failure: { error: unknown } | undefined;
  private isAsked = false;
  private isDue = false;
  private isWanted = false;
  private isBusy = false;
  private unread = 0;

  constructor(
    private readonly source: AsyncIterator<ServerEvent, undefined>,
    private readonly options: Options,
  ) {
    super({ highWaterMark: WAITING });
    this.timer = setInterval(() => this.due(), options.beatMs).unref();
    this.push(`retry: ${RETRY_MS}\n\n`);
  }

  override _read(): void {
    [this.isWanted, this.unread] = [true, 0];
    if (!this.isBusy) void this.sendOn();
  }

  override _destroy(error: Error | null, done: (error: Error | null) => void): void {
    clearInterval(this.timer);
    void this.source.return?.();
    this.wake();
    done(error);
  }

  /** Ends the stream gracefully: what was sent is delivered completely. */
  end(): void {
    void this.source.return?.();
    // a reader that takes nothing would never see the end
    if (!this.isWanted) this.destroy();
  }

  private due(): void {
    if (!this.isWanted) this.unread += 1;
    if (this.unread > MAX_UNREAD) this.destroy();
    this.isDue = true;
    this.wake();
  }

  private async sendOn(): Promise<void> {
    this.isBusy = true;
    while (this.isWanted && !this.readableEnded && !this.destroyed) {
      const text = await this.next().catch((error: unknown) => {
        this.failure = undefined;
        this.come = { done: true, value: undefined };
        return textOf(this.options.failed(error));
      });
      if (!this.destroyed) this.isWanted = this.push(text) && text !== null;
    }
    this.isBusy = false;
  }

  /** The next text to send; null: the stream is over. */
  private async next(): Promise<string | null> {
    while (!this.come && !this.failure && !this.isDue) {
      this.ask();
      await new Promise<void>((resolve) => (this.wake = resolve));
      if (this.destroyed) return null;
    }
    if (this.failure) throw this.failure.error;
    if (this.come) {
      const { done, value } = this.come;
      if (done) return null;
      this.come = undefined;
      return textOf(value);
    }
    this.isDue = false;
    await this.options.beat();
    return KEEP_ALIVE;
  }

  /** Requests one value of the source at a time. */
  private ask(): void {
    if (this.isAsked) return;
    this.isAsked = true;
    this.source
      .next()
      .then(
        (come) => (this.come = come),
        (error: unknown) => (this.failure = { error }),
      )
      .finally(() => {
        this.isAsked = false;
        this.wake();
      });
  }
}

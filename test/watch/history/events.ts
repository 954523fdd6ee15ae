import { once } from 'node:events';
import http, { type IncomingMessage } from 'node:http';

/** An event as a page receives it. */
export interface Received {
  type: string;
  data: string;
  lastEventId: string;
}

/**
 * Interprets an event stream by WHATWG HTML, section 9.2.6, written from its text: fields by line, dispatched by an empty line; the last id is
 * kept even without data.
 */
export class EventReader {
  readonly events: Received[] = [];
  readonly comments: string[] = [];
  lastEventId = '';
  retryMs: number | undefined;
  private rest = '';
  private id = '';
  private type = '';
  private data: string[] = [];

  feed(text: string): void {
    const lines = (this.rest + text).split(/\r\n|\n|\r/);
    this.rest = lines.pop() ?? '';
    for (const line of lines) this.line(line);
  }

  private line(line: string): void {
    if (line === '') return this.dispatch();
    const colon = line.indexOf(':');
    if (colon === 0) return void this.comments.push(line.slice(1));
    const field = colon < 0 ? line : line.slice(0, colon);
    const value = colon < 0 ? '' : line.slice(colon + 1).replace(/^ /, '');
    if (field === 'event') this.type = value;
    if (field === 'data') this.data.push(value);
    if (field === 'id' && !value.includes('\0')) this.id = value;
    if (field === 'retry' && /^\d+$/.test(value)) this.retryMs = Number(value);
  }

  private dispatch(): void {
    this.lastEventId = this.id;
    if (this.data.length > 0)
      this.events.push({
        type: this.type || 'message',
        data: this.data.join('\n'),
        lastEventId: this.lastEventId,
      });
    [this.type, this.data] = ['', []];
  }
}

export interface Following extends EventReader {
  answer: IncomingMessage;
  /** Breaks the connection. */
  leave(): void;
  /** Resolves when the service has ended it, or the connection broke. */
  over: Promise<unknown>;
  isOver: boolean;
}

/** Follows an address, as a page or a program does. */
export const followEvents = async (
  url: string,
  headers: http.OutgoingHttpHeaders = {},
): Promise<Following> => {
  const request = http.get(url, { agent: false, headers: { accept: 'text/event-stream', ...headers } });
  const [answer] = (await once(request, 'response')) as [IncomingMessage];
  const reader = Object.assign(new EventReader(), {
    answer,
    isOver: false,
    leave: () => void request.destroy(),
    over: new Promise((resolve) => answer.once('close', resolve)),
  });
  void reader.over.then(() => (reader.isOver = true));
  answer.on('error', () => undefined);
  answer.setEncoding('utf8').on('data', (text: string) => reader.feed(text));
  return reader;
};

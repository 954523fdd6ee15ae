/** Splits a stream into messages: a type byte and a length that includes itself; the first message of a client has no type. */
class Messages {
  private rest: Buffer = Buffer.alloc(0);

  constructor(private untyped: boolean) {}

  *of(bytes: Buffer): Generator<{ type: string; body: Buffer }> {
    this.rest = Buffer.concat([this.rest, bytes]);
    for (;;) {
      const head = this.untyped ? 0 : 1;
      if (this.rest.length < head + 4) return;
      const end = head + this.rest.readInt32BE(head);
      if (this.rest.length < end) return;
      const type = this.untyped ? '' : String.fromCharCode(this.rest[0] ?? 0);
      const body = this.rest.subarray(head + 4, end);
      this.rest = this.rest.subarray(end);
      this.untyped = false;
      yield { type, body };
    }
  }
}

const texts = (body: Buffer, count: number): string[] => body.toString('utf8').split('\0', count);

/** Reads what a client sends: each Query, and each Sync with the statement bound before it, counts as a statement. */
export class FrontendReader {
  /** Statements so far. */
  count = 0;
  private readonly messages = new Messages(true);
  private readonly prepared = new Map<string, string>();
  private bound = '';

  statementsOf(bytes: Buffer): string[] {
    const found: string[] = [];
    for (const { type, body } of this.messages.of(bytes)) {
      if (type === 'P') {
        const [name = '', sql = ''] = texts(body, 2);
        this.prepared.set(name, sql);
      } else if (type === 'B') {
        const [, name = ''] = texts(body, 2);
        this.bound = this.prepared.get(name) ?? name;
      } else if (type === 'Q') found.push(texts(body, 1)[0] ?? '');
      else if (type === 'S') found.push(this.bound);
    }
    this.count += found.length;
    return found;
  }
}

/** Counts the ReadyForQuery messages of a server: one ends each answer. */
export class ReadyCounter {
  private readonly messages = new Messages(false);
  private count = 0;

  countIn(bytes: Buffer): number {
    for (const { type } of this.messages.of(bytes)) if (type === 'Z') this.count += 1;
    return this.count;
  }
}

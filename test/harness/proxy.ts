import { once } from 'node:events';
import { type AddressInfo, connect, createServer, type Server, type Socket } from 'node:net';
import { FrontendReader, ReadyCounter } from './protocol.js';

/** When a connection is cut: before the statement is delivered; after it; or after the server has answered, with the answer withheld. */
export type CutMoment = 'before' | 'sent' | 'answered';

export interface CutRule {
  when: CutMoment;
  /** Condition on the statement: its text as prepared or sent, and its number on the proxy, from 1. */
  statement: (sql: string, number: number) => boolean;
}

/** One direction of a connection: messages arrive in order, however long each is delayed. */
class Line {
  private readonly held: (() => void)[] = [];

  /** Sends at once if nothing is pending, otherwise after it. */
  pass(send: () => void, delayMs: number): void {
    if (delayMs === 0 && this.held.length === 0) {
      send();
      return;
    }
    this.held.push(send);
    setTimeout(() => this.held.shift()?.(), delayMs); // whichever delay ends first releases the oldest message
  }
}

interface Target {
  host: string;
  port: number;
}

const targetOf = (databaseUrl: string): Target => {
  const { hostname, port } = new URL(databaseUrl);
  return { host: hostname, port: Number(port || 5432) };
};

interface Pair {
  client: Socket;
  server: Socket;
  /** Nothing passes any more in either direction, not even a close. */
  stalled: boolean;
}

/**
 * A TCP proxy in front of PostgreSQL that fails as networks do. It reads the protocol, so the connection must not be encrypted.
 * (PostgreSQL 18 documentation, 54.7 Message Formats)
 */
export class Proxy {
  /** Statements that have passed, in order: each is one round trip. */
  readonly statements: string[] = [];
  /** For each COMMIT that has passed, the statements of its connection that were still unanswered. */
  readonly sentWithCommit: string[][] = [];
  private readonly pairs = new Set<Pair>();
  private delayMs = 0;
  private refusing = false;
  private stallingNew = false;
  private rule: CutRule | undefined;

  private constructor(
    private target: Target,
    private readonly listener: Server,
    /** The address of the database through the proxy. */
    readonly url: string,
  ) {
    listener.on('connection', (client: Socket) => this.accept(client));
  }

  static async start(databaseUrl: string): Promise<Proxy> {
    const listener = createServer({ allowHalfOpen: true, pauseOnConnect: true });
    listener.listen(0, '127.0.0.1');
    await once(listener, 'listening');
    const url = new URL(databaseUrl);
    url.hostname = '127.0.0.1';
    url.port = String((listener.address() as AddressInfo).port);
    return new Proxy(targetOf(databaseUrl), listener, url.href);
  }

  /** Connections open on either side, including stalled ones. */
  get connections(): number {
    return this.pairs.size;
  }

  /** New connections lead to another server, as after a failover; existing ones stay. */
  lead(databaseUrl: string): void {
    this.target = targetOf(databaseUrl);
  }

  /** Resets every connection; new ones pass. */
  cut(): void {
    for (const pair of this.pairs) this.reset(pair);
  }

  /** From now on connections are reset, including new ones, until `restore`. */
  refuse(): void {
    this.refusing = true;
    this.cut();
  }

  /** From now on nothing passes: existing and new connections stay open and silent. Stalled ones remain so after `restore`. */
  stall(): void {
    for (const pair of this.pairs) this.silence(pair);
    this.stallingNew = true;
  }

  /** New connections pass again. */
  restore(): void {
    this.refusing = false;
    this.stallingNew = false;
  }

  /** Delays everything that passes, in each direction. [ms] */
  delay(ms: number): void {
    this.delayMs = ms;
  }

  /** Cuts the connection of the first statement that satisfies the rule, once. */
  cutAt(rule: CutRule | undefined): void {
    this.rule = rule;
  }

  async close(): Promise<void> {
    this.listener.close();
    this.cut();
    await once(this.listener, 'close');
  }

  private accept(client: Socket): void {
    client.on('error', () => undefined);
    if (this.refusing) {
      client.resetAndDestroy();
      return;
    }
    const server = connect({ ...this.target, allowHalfOpen: true, noDelay: true });
    server.on('error', () => undefined);
    client.setNoDelay(true);
    const pair: Pair = { client, server, stalled: false };
    this.pairs.add(pair);
    if (this.stallingNew) this.silence(pair);
    else this.join(pair);
    for (const socket of [client, server])
      socket.once('close', () => {
        if (!pair.stalled) this.reset(pair);
      });
  }

  private join(pair: Pair): void {
    const { client, server } = pair;
    const reader = new FrontendReader();
    const ready = new ReadyCounter();
    let keepBackFrom = Infinity;
    let answered = -1; // the first ReadyForQuery ends the session start-up
    const unanswered: string[] = [];
    const lines = new Map([client, server].map((socket) => [socket, new Line()]));
    const pass = (to: Socket, bytes: Buffer, answers = 0): void => {
      const send = (): void => {
        unanswered.splice(0, answers);
        if (!pair.stalled && !to.destroyed) to.write(bytes);
      };
      lines.get(to)?.pass(send, this.delayMs);
    };
    client.on('data', (bytes: Buffer) => {
      if (pair.stalled) return;
      for (const sql of reader.statementsOf(bytes)) {
        this.statements.push(sql);
        if (sql === 'commit') this.sentWithCommit.push([...unanswered]);
        unanswered.push(sql);
        if (!this.rule?.statement(sql, this.statements.length)) continue;
        const { when } = this.rule;
        this.rule = undefined;
        if (when === 'before') return this.reset(pair);
        if (when === 'answered') keepBackFrom = reader.count;
        // the server's side is closed, not reset: the server finishes what it was sent
        else return void (server.write(bytes), server.end(), client.resetAndDestroy());
      }
      pass(server, bytes);
    });
    server.on('data', (bytes: Buffer) => {
      if (pair.stalled) return;
      const before = Math.max(answered, 0);
      answered = ready.countIn(bytes) - 1;
      if (answered < keepBackFrom - 1) pass(client, bytes, Math.max(answered, 0) - before);
      else if (answered >= keepBackFrom) this.reset(pair);
    });
    client.on('end', () => {
      if (!pair.stalled) server.end();
    });
    server.on('end', () => {
      if (!pair.stalled) client.end();
    });
    client.resume();
  }

  private silence(pair: Pair): void {
    pair.stalled = true;
    pair.client.resume();
    pair.server.resume(); // neither end notices that the other is gone
  }

  private reset(pair: Pair): void {
    this.pairs.delete(pair);
    for (const socket of [pair.client, pair.server])
      if (socket.connecting) socket.destroy();
      else if (!socket.destroyed) socket.resetAndDestroy();
  }
}

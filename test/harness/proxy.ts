import { once } from 'node:events';
import { type AddressInfo, connect, createServer, type Server, type Socket } from 'node:net';
import { FrontendReader, ReadyCounter } from './protocol.js';

/** When a connection is cut: the statement not delivered; delivered; answered by the server, and the answer kept back. */
export type CutMoment = 'before' | 'sent' | 'answered';

export interface CutRule {
  when: CutMoment;
  /** The statement of which this holds: its text as it was prepared or sent, and its number on the proxy, from 1. */
  statement: (sql: string, number: number) => boolean;
}

/** One direction of a connection: what is sent in it arrives in its order, however long each is held up. */
class Line {
  private readonly held: (() => void)[] = [];

  /** Sends at once when nothing is under way, and else after it. */
  pass(send: () => void, delayMs: number): void {
    if (delayMs === 0 && this.held.length === 0) {
      send();
      return;
    }
    this.held.push(send);
    setTimeout(() => this.held.shift()?.(), delayMs); // whose time is up first makes way for the oldest
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
  /** Nothing passes any more, in neither direction, not even an end. */
  stalled: boolean;
}

/**
 * A TCP proxy in front of PostgreSQL that breaks as networks do. It reads the protocol, so the connection must not be
 * encrypted. (PostgreSQL 18 documentation, 54.7 Message Formats)
 */
export class Proxy {
  /** Statements that have passed, in order: each is one round trip. */
  readonly statements: string[] = [];
  /** For each COMMIT that has passed, the statements of its connection that the client did not have the answers to. */
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

  /** Connections that are open on either side, stalled ones included. */
  get connections(): number {
    return this.pairs.size;
  }

  /** New connections lead to another server, as after a failover; those that are open stay. */
  lead(databaseUrl: string): void {
    this.target = targetOf(databaseUrl);
  }

  /** Resets every connection; new ones pass. */
  cut(): void {
    for (const pair of this.pairs) this.reset(pair);
  }

  /** From now on connections are reset, and new ones too, until `restore`. */
  refuse(): void {
    this.refusing = true;
    this.cut();
  }

  /** From now on nothing passes: those open and new ones stay open and silent. After `restore` the stalled ones remain so. */
  stall(): void {
    for (const pair of this.pairs) this.silence(pair);
    this.stallingNew = true;
  }

  /** New connections pass again. */
  restore(): void {
    this.refusing = false;
    this.stallingNew = false;
  }

  /** Holds up whatever passes, each way. [ms] */
  delay(ms: number): void {
    this.delayMs = ms;
  }

  /** Cuts the connection of the first statement of which the rule holds, once. */
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
    let answered = -1; // the first ReadyForQuery ends the start of the session
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
        // the server's side is ended, not reset: it works off what it was sent
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
    pair.server.resume(); // neither end is made aware that the other has gone
  }

  private reset(pair: Pair): void {
    this.pairs.delete(pair);
    for (const socket of [pair.client, pair.server])
      if (socket.connecting) socket.destroy();
      else if (!socket.destroyed) socket.resetAndDestroy();
  }
}

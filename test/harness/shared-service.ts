import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { Server } from 'node:http';
import { setTimeout as pause } from 'node:timers/promises';
import { promisify } from 'node:util';
import pg from 'pg';
import { TtlCache } from '../../src/common/auth/ttl-cache.js';
import type { TestDatabase } from './database.js';
import { Emptied } from './emptied.js';

// Files that change no settings share services one after the other: starting one and cloning its database takes longer than most files. The
// database is emptied in between; if a file has changed more than rows, the service is not reused.

export interface Service {
  app: NestFastifyApplication;
  database: TestDatabase;
  close(): Promise<void>;
}

/** Caches of the service, which last two seconds. */
const believed = new Set<TtlCache<unknown>>();
const get = TtlCache.prototype.get;
TtlCache.prototype.get = function <T>(this: TtlCache<T>, ...args: Parameters<TtlCache<T>['get']>) {
  believed.add(this);
  return get.apply(this, args) as Promise<T>;
};

const QUIET = `select not exists (select from pg_stat_activity where datname = current_database() and pid <> pg_backend_pid() and state <> 'idle')
  and not exists (select from pg_locks where locktype = 'advisory' and database = (select oid from pg_database where datname = current_database())) as quiet`;

/** Interval of checks whether a service is still busy, and their time limit. [ms] */
const ASK_MS = 20;
const ASK_TIMES = 500;

class Shared<S extends Service> {
  private constructor(
    readonly service: S,
    private readonly client: pg.Pool,
    private readonly emptied: Emptied,
  ) {}

  static async of<S extends Service>(service: S): Promise<Shared<S>> {
    const client = new pg.Pool({ connectionString: service.database.url, max: 1 });
    client.on('error', () => undefined);
    return new Shared(service, client, await Emptied.of(client));
  }

  /** @returns whether the next file can use it */
  async renew(): Promise<boolean> {
    const server = this.service.app.getHttpServer() as Server;
    if (!server.listening) return false;
    server.closeAllConnections();
    if (!(await this.isQuiet(server)) || !(await this.emptied.empty())) return false;
    for (const answers of believed) answers.forget();
    return true;
  }

  async close(): Promise<void> {
    await this.client.end();
    await this.service.close();
  }

  private async isQuiet(server: Server): Promise<boolean> {
    const connections = promisify(server.getConnections.bind(server));
    for (let asked = 0; asked < ASK_TIMES; asked += 1) {
      const { rows } = await this.client.query<{ quiet: boolean }>(QUIET);
      if (rows[0]?.quiet && (await connections()) === 0) return true;
      await pause(ASK_MS);
    }
    return false;
  }
}

/** Services of one kind, used by files one after the other. */
export class SharedServices<S extends Service> {
  private idle: Shared<S> | undefined;

  /** @param start  starts a service */
  constructor(private readonly start: () => Promise<S>) {
    ending.push(async () => this.idle?.close());
  }

  /** A service not in use. `close()` returns it. */
  async take(): Promise<S> {
    const shared = this.idle ?? (await Shared.of(await this.start()));
    this.idle = undefined;
    return {
      ...shared.service,
      close: async () => {
        if (!this.idle && (await shared.renew())) this.idle = shared;
        else await shared.close();
      },
    };
  }
}

const ending: (() => Promise<void>)[] = [];

/** If tests run in the process that began the run, they end with the run (stop-run.mjs). */
(globalThis as { endSharedServices?: () => Promise<void> }).endSharedServices = async () => {
  for (const end of ending) await end();
};

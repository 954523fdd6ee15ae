import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import type pg from 'pg';
import { Config } from '../config/config.js';
import { connectionError, ServiceClient } from './service-client.js';

/** Time limit of an answer. [ms] */
const BOUND_MS = 2000;

/** How long a result is cached, so that frequent probes cost nothing. [ms] */
const BELIEVED_MS = 1000;

/** Not ready while the server takes no writes (session.ts). */
const READY = `select current_setting('transaction_read_only')::boolean as "isReadOnly"`;

/**
 * One connection outside the pool, for what must work while the pool is exhausted: checking whether the database answers, and
 * cancelling statements. It connects on first use, and again after a failure.
 */
@Injectable()
export class ControlConnection implements OnApplicationShutdown {
  private client: Promise<pg.Client> | undefined;
  private state: { until: number; answer: Promise<void> } | undefined;

  constructor(private readonly config: Config) {}

  /**
   * @throws Error when the database has not answered within two seconds, now or within the last second, or takes no writes. The
   * connection is then closed, because a new one may reach another server
   */
  ready(): Promise<void> {
    const now = performance.now();
    if (!this.state || this.state.until <= now) {
      const answer = this.ask(READY);
      answer.catch(() => undefined); // callers receive it
      this.state = { until: Infinity, answer };
      const { state } = this;
      const believe = (): void => {
        state.until = performance.now() + BELIEVED_MS;
      };
      answer.then(believe, believe);
    }
    return this.state.answer;
  }

  /**
   * Asks PostgreSQL to cancel the statement running on one of this service's connections; an idle connection is not disturbed. If
   * this fails, the statement runs to its time limit.
   */
  async cancel(processId: number): Promise<void> {
    await this.ask('select pg_cancel_backend($1)', [processId]).catch(() => undefined);
  }

  async onApplicationShutdown(): Promise<void> {
    const { client } = this;
    this.client = undefined;
    await client?.then((open) => open.end()).catch(() => undefined);
  }

  private async ask(text: string, values: unknown[] = []): Promise<void> {
    this.client ??= this.connect();
    const { client } = this;
    try {
      const { rows } = await (await client).query<{ isReadOnly?: boolean }>(text, values);
      if (rows[0]?.isReadOnly) throw connectionError('08004', 'The database is a standby, or read-only.');
    } catch (error) {
      if (this.client === client) this.client = undefined;
      client.then((broken) => broken.end()).catch(() => undefined);
      throw error;
    }
  }

  private async connect(): Promise<pg.Client> {
    const client = new ServiceClient({
      connectionString: this.config.databaseUrl,
      query_timeout: BOUND_MS,
      application_name: 'drivebook control',
    });
    client.on('error', () => {
      this.client = undefined; // the next use connects again
    });
    const limit = setTimeout(() => void client.end(), BOUND_MS);
    try {
      await client.connect();
      return client;
    } finally {
      clearTimeout(limit);
    }
  }
}

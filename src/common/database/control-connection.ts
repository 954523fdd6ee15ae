import { Injectable, type OnApplicationShutdown } from '@nestjs/common';
import type pg from 'pg';
import { Config } from '../config/config.js';
import { connectionError, ServiceClient } from './service-client.js';

/** What takes longer counts as unanswered. [ms] */
const BOUND_MS = 2000;

/** How long a state is believed, so that frequent probes cost nothing. [ms] */
const BELIEVED_MS = 1000;

/** Nothing is served from a server that takes no writes (session.ts). */
const READY = `select current_setting('transaction_read_only')::boolean as "isReadOnly"`;

/**
 * One connection beside the pool, for what must work while the pool is used up: whether the database answers, and
 * cancelling a statement. It connects when it is first needed, and again after a failure.
 */
@Injectable()
export class ControlConnection implements OnApplicationShutdown {
  private client: Promise<pg.Client> | undefined;
  private state: { until: number; answer: Promise<void> } | undefined;

  constructor(private readonly config: Config) {}

  /**
   * @throws Error when the database has not answered within two seconds, now or within the last second, or takes no writes:
   * the connection is closed then, as the next one may lead to another server
   */
  ready(): Promise<void> {
    const now = performance.now();
    if (!this.state || this.state.until <= now) {
      const answer = this.ask(READY);
      answer.catch(() => undefined); // whoever asks receives it
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
   * Asks PostgreSQL to cancel what one of this service's connections is running; one that runs nothing is not
   * disturbed. A failure leaves the statement to its time limit.
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
      this.client = undefined; // the next question connects again
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

import { EventEmitter } from 'node:events';
import { Injectable, Logger, type OnApplicationShutdown, type OnModuleInit } from '@nestjs/common';
import { Config } from '../../../common/config/config.js';
import { Measures } from '../../../common/metrics/measures.js';
import { ServiceClient } from '../../../common/database/service-client.js';

/** PostgreSQL notifies this channel at each commit that changed a project's record. */
const CHANNEL = 'drivebook_change';

const RECONNECT_MS = 2000;

/** Interval of a query, and time limit of its answer: a connection that only listens would not notice that its other end is gone. */
const HEARTBEAT_MS = 5000;

/** Any project may have changed: the connection was interrupted. */
const ANY = '*';

/** Reports which projects have changed, whether by an instance of the service or by SQL. */
@Injectable()
export class ChangeFeed implements OnModuleInit, OnApplicationShutdown {
  private readonly reported = new EventEmitter().setMaxListeners(0);
  private readonly log = new Logger(ChangeFeed.name);
  private client: ServiceClient | undefined;
  private heartbeat: NodeJS.Timeout | undefined;
  private retry: NodeJS.Timeout | undefined;
  private closed = false;
  private listening = false;

  constructor(
    private readonly config: Config,
    measures: Measures,
  ) {
    measures.gauge(
      'drivebook_change_feed_connected',
      'Whether change notifications are received: 1; 0 also before the first subscription',
      [],
      () => [[{}, this.listening ? 1 : 0]],
    );
  }

  /** It connects with the first listener: without dashboards the service holds no connection for this. */
  onModuleInit(): void {
    this.reported.once('newListener', () => void this.connect());
  }

  /** Calls back when a project has changed. @returns a function that ends this */
  listen(projectId: number, call: () => void): () => void {
    const names = [String(projectId), ANY];
    for (const name of names) this.reported.on(name, call);
    return () => {
      for (const name of names) this.reported.off(name, call);
    };
  }

  private async connect(): Promise<void> {
    if (this.closed) return;
    const client = new ServiceClient({
      connectionString: this.config.databaseUrl,
      query_timeout: HEARTBEAT_MS,
    });
    this.client = client;
    client.on('notification', ({ payload }) => this.reported.emit(payload ?? ANY));
    client.on('error', () => this.reconnect(client));
    client.on('end', () => this.reconnect(client));
    try {
      await client.connect();
      await client.query(`listen ${CHANNEL}`);
      this.listening = true;
      this.heartbeat = setInterval(() => {
        client.query('select 1').catch(() => this.reconnect(client));
      }, HEARTBEAT_MS).unref();
      this.reported.emit(ANY); // notifications until now may have been missed
    } catch (error) {
      this.log.warn(`Change notifications are unavailable: ${(error as Error).message}`);
      this.reconnect(client);
    }
  }

  private reconnect(client: ServiceClient): void {
    if (this.closed || this.client !== client) return;
    this.client = undefined;
    this.listening = false;
    clearInterval(this.heartbeat);
    client.end().catch(() => undefined);
    this.retry = setTimeout(() => void this.connect(), RECONNECT_MS);
    this.retry.unref();
  }

  async onApplicationShutdown(): Promise<void> {
    this.closed = true;
    clearTimeout(this.retry);
    clearInterval(this.heartbeat);
    await this.client?.end().catch(() => undefined);
  }
}

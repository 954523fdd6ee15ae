import { setTimeout as pause } from 'node:timers/promises';
import { Injectable, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import { Config } from '../../../common/config/config.js';
import { ServiceClient } from '../../../common/database/service-client.js';
import { openSession } from '../../../common/database/session.js';
import { Measures } from '../../../common/metrics/measures.js';
import { Targets } from '../../../common/net/targets.js';
import { Background } from '../../../common/work/background.js';
import { type Attempt, postMessage } from './post-message.js';
import { secretOf, signedHeaders } from './secrets.js';

/** PostgreSQL notifies this channel at each commit that leaves messages to send. */
const CHANNEL = 'drivebook_webhook';

/** Only one instance sends at a time: it holds this lock while there is something to send. */
const LOCK = `hashtextextended('drivebook.webhooks', 0)`;

/** Concurrent attempts: in total, and to one endpoint, so that a slow one leaves room for the others. */
const MOST = 8;
const MOST_EACH = 2;

/** Polling interval for due messages, in case a notification is lost or the sending instance has ended; also checks the connection. [ms] */
const LOOK_MS = 5000;

const RECONNECT_MS = 2000;

/** Time limit of a statement; none of them waits for locks held by users. [ms] */
const STATEMENT_MS = 30_000;

const REMOVE_OLD_MS = 3_600_000;

/** Longest delay that an endpoint can request. [s] */
const LONGEST_REST_S = 86_400;

/** A retry is delayed by up to this additional part, so that messages that failed together are not retried together. */
const JITTER = 0.2;

/** Statuses that ask for fewer requests, whatever the cause: the endpoint's other messages wait too. */
const THROTTLED = [429, 502, 504];

const GONE = 410;

interface Due {
  delivery: number;
  url: string;
  message: string;
  payload: string;
  /** number of attempts before this one */
  attempts: number;
  secrets: { salt: string; fingerprint: string }[];
}

type Query = <T extends object>(sql: string, ...values: unknown[]) => Promise<T[]>;

/** Delay before the next attempt after a failure; undefined: it was the last. [s] */
export const retryAfterS = (
  schedule: readonly number[],
  failed: number,
  asked = 0,
  random = Math.random(),
): number | undefined => {
  const delay = schedule[failed - 1];
  return delay === undefined
    ? undefined
    : Math.max(delay * (1 + JITTER * random), Math.min(asked, LONGEST_REST_S));
};

/**
 * Sends the messages of the outbox, over a separate connection. An attempt is recorded after it was made: if the service is killed
 * in between, the message is sent again under the same id.
 */
@Injectable()
export class WebhookSender implements OnApplicationBootstrap {
  private readonly log = new Logger(WebhookSender.name);
  private readonly targets: Targets;
  private readonly outcomes = { delivered: 0, failed: 0 };

  constructor(
    private readonly config: Config,
    private readonly background: Background,
    measures: Measures,
  ) {
    this.targets = new Targets(config.webhooks.allowedTargets);
    measures.counter(
      'drivebook_webhook_attempts_total',
      'Attempts to send a message to a webhook, by what they came to: delivered, failed',
      ['outcome'],
      () => Object.entries(this.outcomes).map(([outcome, count]) => [{ outcome }, count]),
    );
  }

  onApplicationBootstrap(): void {
    if (this.config.webhooks.isSending && this.config.databaseUrl !== undefined)
      void this.background.run(() => this.work());
  }

  private async work(): Promise<void> {
    const { signal } = this.background;
    while (!signal.aborted) {
      await this.session(signal).catch((error: unknown) => {
        if (!signal.aborted) this.log.warn(`Webhooks are not sent for a moment: ${(error as Error).message}`);
      });
      await pause(RECONNECT_MS, undefined, { signal, ref: false }).catch(() => undefined);
    }
  }

  /** Works on one connection until it breaks or the service ends. */
  private async session(stopped: AbortSignal): Promise<void> {
    const client = new ServiceClient({
      connectionString: this.config.databaseUrl,
      query_timeout: STATEMENT_MS,
      pipeline: true, // attempts are recorded concurrently
      application_name: 'drivebook webhooks',
    });
    const over = new AbortController();
    const end = (): void => over.abort();
    stopped.addEventListener('abort', end);
    client.on('error', end);
    client.on('end', end);
    try {
      await client.connect();
      await openSession(client);
      await client.query(`listen ${CHANNEL}`);
      const query: Query = async (sql, ...values) => (await client.query(sql, values)).rows as never;
      await new Sending(query, over.signal, this.config, this.targets, this.outcomes).run((wake) =>
        client.on('notification', wake),
      );
    } finally {
      end();
      stopped.removeEventListener('abort', end);
      await client.end().catch(() => undefined);
    }
  }
}

/** The work on one connection. */
class Sending {
  /** Attempts in progress, by delivery. */
  private readonly underWay = new Map<number, Promise<void>>();
  private isWoken = true;
  private wake: () => void = () => undefined;
  private oldRemovedAt = -Infinity;
  /** Failure of recording an attempt: the connection must not be used any further. */
  private failure: { error: unknown } | undefined;

  constructor(
    private readonly query: Query,
    private readonly signal: AbortSignal,
    private readonly config: Config,
    private readonly targets: Targets,
    private readonly outcomes: { delivered: number; failed: number },
  ) {
    signal.addEventListener('abort', () => this.look());
  }

  async run(notified: (wake: () => void) => void): Promise<void> {
    notified(() => this.look());
    while (!this.signal.aborted) {
      this.isWoken = false;
      const nextMs = await this.inTurn();
      if (this.failure) throw this.failure.error;
      await this.rest(nextMs);
    }
    await Promise.allSettled(this.underWay.values());
  }

  /** Looks for due messages at once. */
  private look(): void {
    this.isWoken = true;
    this.wake();
  }

  private async rest(ms: number): Promise<void> {
    if (this.isWoken || this.signal.aborted) return;
    const timer = setTimeout(() => this.wake(), Math.max(0, ms)).unref();
    await new Promise<void>((resolve) => (this.wake = resolve));
    clearTimeout(timer);
  }

  /** Sends due messages unless another instance does. @returns when to look again [ms] */
  private async inTurn(): Promise<number> {
    const [held] = await this.query<{ held: boolean }>(`select pg_try_advisory_lock(${LOCK}) as held`);
    if (!held?.held) return LOOK_MS;
    try {
      for (;;) {
        await this.begin();
        if (this.underWay.size === 0 || this.signal.aborted || this.failure) break;
        await this.rest(await this.nextMs());
        this.isWoken = false;
      }
      await this.removeOld();
      return await this.nextMs();
    } finally {
      if (!this.signal.aborted) await this.query(`select pg_advisory_unlock(${LOCK})`);
    }
  }

  private async nextMs(): Promise<number> {
    if (this.underWay.size >= MOST) return LOOK_MS; // the next to finish triggers another look
    const busy = [...this.underWay.keys()];
    const [next] = await this.query<{ s: number | null }>(
      'select next_webhook_delivery_s($1, $2) as s',
      busy,
      MOST_EACH,
    );
    return Math.min(LOOK_MS, next?.s == null ? LOOK_MS : Math.max(next.s * 1000, 10));
  }

  private async begin(): Promise<void> {
    const due = await this.query<Due>(
      'select delivery, url, message, payload, attempts, secrets from due_webhook_deliveries($1, $2, $3)',
      [...this.underWay.keys()],
      MOST,
      MOST_EACH,
    );
    for (const each of due) {
      const done = this.attempt(each)
        .catch((error: unknown) => {
          this.failure ??= { error };
        })
        .finally(() => {
          this.underWay.delete(each.delivery);
          this.look();
        });
      this.underWay.set(each.delivery, done);
    }
  }

  private async attempt(due: Due): Promise<void> {
    const { retryS } = this.config.webhooks;
    const { status, error, retryAfterS: asked } = await this.send(due);
    const isDelivered = status !== undefined && status >= 200 && status < 300;
    const isGone = status === GONE;
    this.outcomes[isDelivered ? 'delivered' : 'failed'] += 1;
    const retry = isDelivered || isGone ? undefined : retryAfterS(retryS, due.attempts + 1, asked);
    const rests = asked !== undefined || THROTTLED.includes(status ?? 0);
    const failed = isDelivered ? null : (error ?? `it answered ${status}`);
    await this.query(
      `select settle_webhook_delivery($1, $2, $3, $4, $5, $6)${isGone ? ', retire_webhook_endpoint($1)' : ''}`,
      due.delivery,
      isDelivered,
      status ?? null,
      failed,
      retry ?? null,
      rests,
    );
  }

  private async send({ url, message, payload, secrets }: Due): Promise<Attempt> {
    const { apiKeyPepper, webhooks } = this.config;
    const kept = secrets.map(({ salt, fingerprint }) => ({ salt: Buffer.from(salt, 'base64'), fingerprint }));
    const texts = kept.flatMap((each) => (apiKeyPepper && secretOf(apiKeyPepper, each)) ?? []);
    if (texts.length === 0)
      return { error: 'its secret was made with another API_KEY_PEPPER: rotate the secret' };
    const headers = signedHeaders(texts, message, new Date(), payload);
    return postMessage(url, headers, payload, {
      targets: this.targets,
      timeoutMs: webhooks.timeoutMs,
      signal: this.signal,
    });
  }

  private async removeOld(): Promise<void> {
    if (performance.now() - this.oldRemovedAt < REMOVE_OLD_MS) return;
    this.oldRemovedAt = performance.now();
    await this.query('select remove_old_messages($1)', this.config.webhooks.keptDays);
  }
}

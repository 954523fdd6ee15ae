export interface WebhookConfig {
  /** Whether this instance sends messages. */
  readonly isSending: boolean;
  /** Delay before the next attempt, by the number of failed attempts; after the last one the message is dead. [s] */
  readonly retryS: readonly number[];
  /** Time for an endpoint to answer. [ms] */
  readonly timeoutMs: number;
  /** How long delivered and dead messages are kept. [d] */
  readonly keptDays: number;
  /** Private hosts, addresses and networks to which messages may be sent. */
  readonly allowedTargets: readonly string[];
}

export interface JobConfig {
  /** Whether this instance runs jobs. */
  readonly isRunning: boolean;
  /** How long finished jobs are kept, with their results. [h] */
  readonly keptHours: number;
}

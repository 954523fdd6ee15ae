export interface WebhookConfig {
  /** Whether this instance sends messages. */
  readonly isSending: boolean;
  /** In how long an attempt that failed is followed by the next one, by their number; after the last a message is dead. [s] */
  readonly retryS: readonly number[];
  /** How long an endpoint may take to answer. [ms] */
  readonly timeoutMs: number;
  /** How long messages are kept that were delivered, or are dead. [d] */
  readonly keptDays: number;
  /** Hosts, addresses and networks that are not public, but may be sent to. */
  readonly allowedTargets: readonly string[];
}

export interface JobConfig {
  /** Whether this instance runs jobs. */
  readonly isRunning: boolean;
  /** How long jobs that have ended are kept, with their results. [h] */
  readonly keptHours: number;
}

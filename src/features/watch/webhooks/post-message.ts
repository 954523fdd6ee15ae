import { request as requestHttp, type IncomingMessage } from 'node:http';
import { request as requestHttps } from 'node:https';
import type { Targets } from '../../../common/net/targets.js';

/** The result of an attempt: a status, or why there was none. */
export interface Attempt {
  status?: number;
  error?: string;
  /** Delay requested by the endpoint. [s] */
  retryAfterS?: number;
}

/** Most data read of an answer, of which only the status is used. [bytes] */
const MOST_BYTES = 16_384;

/** Longest time for reading it. [ms] */
const DRAIN_MS = 1000;

const refusal = 'its address lies in a private or reserved network, which the operator has not allowed';

const WORDS: Record<string, string> = {
  REFUSED_TARGET: refusal,
  ENOTFOUND: 'its host name is unknown',
  EAI_AGAIN: 'its host name cannot be looked up now',
  ECONNREFUSED: 'it does not accept connections',
  ECONNRESET: 'it ended the connection without an answer',
  EHOSTUNREACH: 'it cannot be reached',
  ENETUNREACH: 'it cannot be reached',
  ETIMEDOUT: 'it cannot be reached',
  ERR_TLS_CERT_ALTNAME_INVALID: 'its certificate is of another host',
  CERT_HAS_EXPIRED: 'its certificate has expired',
};

/** A failure in words that contain no address: readers must not learn about the endpoint's network. */
const wordsOf = (error: NodeJS.ErrnoException): string =>
  WORDS[error.code ?? ''] ?? `the connection failed${error.code === undefined ? '' : ` (${error.code})`}`;

/** Retry-After: seconds, or a date (RFC 9110, section 10.2.3). */
const retryAfterOf = (header: string | undefined): number | undefined => {
  if (header === undefined) return undefined;
  const seconds = /^\d{1,9}$/.test(header) ? Number(header) : (Date.parse(header) - Date.now()) / 1000;
  return Number.isFinite(seconds) && seconds > 0 ? seconds : undefined;
};

const drain = (response: IncomingMessage): void => {
  let read = 0;
  const limit = setTimeout(() => response.destroy(), DRAIN_MS).unref();
  response.on('error', () => undefined);
  response.on('close', () => clearTimeout(limit));
  response.on('data', (bytes: Buffer) => {
    read += bytes.length;
    if (read > MOST_BYTES) response.destroy();
  });
};

interface Options {
  targets: Targets;
  timeoutMs: number;
  /** Cancels the attempt, which then has no result. */
  signal: AbortSignal;
}

/**
 * Sends one message. It follows no redirect, and connects to no address that `targets` does not allow.
 * @throws Error when the signal cancels it
 */
export const postMessage = async (
  url: string,
  headers: Record<string, string>,
  payload: string,
  { targets, timeoutMs, signal }: Options,
): Promise<Attempt> => {
  const fault = targets.faultOf(url); // the operator may have changed the allowed targets
  if (fault !== undefined) return { error: refusal };
  signal.throwIfAborted();
  const { protocol, hostname } = new URL(url);
  return new Promise((resolve, reject) => {
    const body = Buffer.from(payload);
    const sent = (protocol === 'http:' ? requestHttp : requestHttps)(url, {
      method: 'POST',
      agent: false, // no connection is reused: each is looked up and checked
      lookup: targets.lookup,
      headers: {
        ...headers,
        'content-type': 'application/json',
        'content-length': body.length,
        'user-agent': 'drivebook-webhooks',
      },
    });
    const end = (result: () => void): void => {
      clearTimeout(limit);
      signal.removeEventListener('abort', callOff);
      result();
    };
    const limit = setTimeout(() => {
      end(() => resolve({ error: `it did not answer within ${timeoutMs / 1000} s` }));
      sent.destroy();
    }, timeoutMs);
    const callOff = (): void => {
      end(() => reject(new Error('called off')));
      sent.destroy();
    };
    signal.addEventListener('abort', callOff);
    sent.on('error', (error) => end(() => resolve({ error: wordsOf(error) })));
    // In addition to the lookup: an address literal in the URL is not looked up.
    sent.on('socket', (socket) =>
      socket.on('connect', () => {
        const isAllowed = targets.isNamed(hostname) || targets.allows(socket.remoteAddress ?? '');
        if (!isAllowed) sent.destroy(Object.assign(new Error(refusal), { code: 'REFUSED_TARGET' }));
      }),
    );
    sent.on('response', (response) => {
      drain(response);
      const retryAfterS = retryAfterOf(response.headers['retry-after']);
      end(() => resolve({ status: response.statusCode, retryAfterS }));
    });
    sent.end(body);
  });
};

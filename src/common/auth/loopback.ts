import type { IncomingHttpHeaders } from 'node:http';
import { ProblemError } from '../api/problem.js';

const LOOPBACK = String.raw`(localhost|127\.0\.0\.1|\[::1\])`;
const LOOPBACK_HOST = new RegExp(String.raw`^${LOOPBACK}(:\d{1,5})?$`, 'i');
const LOOPBACK_ORIGIN = new RegExp(String.raw`^https?://${LOOPBACK}(:\d{1,5})?$`, 'i');

/** Whether a host is reachable from this machine only: a name or an address; an IPv6 address with or without brackets. */
export const isLoopback = (host: string): boolean =>
  ['localhost', '127.0.0.1', '::1', '[::1]'].includes(host.toLowerCase());

/** HTTPS, or HTTP that does not leave the machine. */
export const isPrivateUrl = ({ protocol, hostname }: URL): boolean =>
  protocol === 'https:' || (protocol === 'http:' && isLoopback(hostname));

/**
 * Keeps pages of other sites away from a service that runs without login, because a browser on the same machine would carry
 * their requests. Checking the host stops a name made to resolve to 127.0.0.1 (DNS rebinding); checking the origin stops a form
 * or script of another site (RFC 6454 section 7, RFC 9110 section 7.2).
 * @param allowedOrigins  those of CORS_ORIGINS
 * @throws ProblemError forbidden
 */
export const refuseForeign = (
  { host, origin }: Pick<IncomingHttpHeaders, 'host' | 'origin'>,
  allowedOrigins: readonly string[],
): void => {
  if (host === undefined || !LOOPBACK_HOST.test(host))
    throw new ProblemError(
      'forbidden',
      'Without a login the service answers only as localhost, 127.0.0.1 or [::1]: use one of these as its host.',
    );
  if (origin !== undefined && !LOOPBACK_ORIGIN.test(origin) && !allowedOrigins.includes(origin))
    throw new ProblemError(
      'forbidden',
      'Without a login the service serves only pages of this machine and of the origins in CORS_ORIGINS.',
    );
};

/**
 * Keeps pages of other sites from opening a WebSocket: a browser opens one without a preflight, and lets the page read the
 * messages (RFC 6455 section 10.2).
 * @param host  of the request, as the caller named it
 * @throws ProblemError forbidden
 */
export const refuseForeignPage = (
  host: string,
  origin: string | undefined,
  allowedOrigins: readonly string[],
): void => {
  if (origin === undefined || allowedOrigins.includes(origin)) return;
  if (![`http://${host}`, `https://${host}`].includes(origin))
    throw new ProblemError(
      'forbidden',
      'Connections are accepted from pages of this host and of the origins in CORS_ORIGINS.',
    );
};

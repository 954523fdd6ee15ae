import { codeFault } from '../api/fields.js';
import { ProblemError } from '../api/problem.js';

/** The token68 of RFC 6750 section 2.1; the scheme in any case (RFC 9110 section 11.1). */
const BEARER = /^bearer +([\w.~+/-]+=*)$/i;

/** Longer than any plausible token; checked before anything is known of the sender. [bytes] */
const MAX_TOKEN_LENGTH = 8192;

/**
 * The access token or API key of `Authorization: Bearer …`.
 * @throws ProblemError unauthenticated when it is absent or malformed
 */
export const bearerOf = (header: string | undefined): string => {
  if (header === undefined)
    throw new ProblemError('unauthenticated', 'Send an access token or an API key: Authorization: Bearer …');
  const token = BEARER.exec(header)?.[1];
  if (token === undefined)
    throw new ProblemError('unauthenticated', 'The Authorization header must read: Bearer and one token.');
  if (token.length > MAX_TOKEN_LENGTH)
    throw new ProblemError('unauthenticated', `The token is longer than ${MAX_TOKEN_LENGTH} bytes.`);
  return token;
};

/** The addresses of the OData feed below a project. */
const FEED = /^\/v1\/projects\/[^/?]+\/odata(?=[/?]|$)/;

/** Whether a request reads the feed. Spreadsheets can only send a name and a password, so the feed accepts those. */
export const readsFeed = (method: string, url: string): boolean =>
  (method === 'GET' || method === 'HEAD') && FEED.test(url);

/**
 * The credential of `Authorization: Basic …` (RFC 7617) as a bearer credential: the password is the token or key, the name is
 * ignored. Browsers attach such credentials to cross-site requests too, so they are accepted for reading the feed only.
 */
export const passwordAsBearer = (header: string): string => {
  const encoded = /^basic +([\w+/-]+=*)$/i.exec(header.slice(0, 2 * MAX_TOKEN_LENGTH))?.[1];
  if (encoded === undefined) return header;
  const text = Buffer.from(encoded, 'base64').toString();
  return `Bearer ${text.slice(text.indexOf(':') + 1)}`;
};

/**
 * The person of `Authorization: Local NAME`, which local mode trusts; undefined for another scheme.
 * @throws ProblemError unauthenticated when the name is invalid
 */
export const localPersonOf = (header: string): string | undefined => {
  const name = /^local(?: +|$)(.*)$/i.exec(header)?.[1];
  if (name === undefined) return undefined;
  if (codeFault(name) !== undefined)
    throw new ProblemError(
      'unauthenticated',
      'The Authorization header must read: Local and the name of a person, of 1 to 40 letters, digits, dots, hyphens or underscores.',
    );
  return name;
};

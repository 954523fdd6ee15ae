import type { OpenAPIObject } from '@nestjs/swagger';

type Headers = NonNullable<NonNullable<OpenAPIObject['components']>['headers']>;
type Reference = { $ref: string };
type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const header = (
  description: string,
  schema: Record<string, unknown> = {},
  required = false,
): Headers[string] => ({ description, required, schema: { type: 'string', ...schema } });

/** Headers of answers, each declared once; the answers refer to them. */
export const HEADERS = {
  'X-Request-Id': header(
    'Id of the request in the service’s log: the caller’s own, if it sent a usable one',
    { pattern: '^[\\w.-]{1,64}$' },
    true,
  ),
  'Cache-Control': header('Who may cache the answer', { examples: ['private, no-cache'] }, true),
  Vary: header('Request headers that the answer depends on', {}, true),
  'X-RateLimit-Limit': header('Requests per minute allowed to the caller, if limited', {
    pattern: '^\\d+$',
  }),
  'X-RateLimit-Remaining': header('How many are left in this minute', { pattern: '^\\d+$' }),
  'X-RateLimit-Reset': header('Time until the minute ends [s]', { pattern: '^\\d+$' }),
  ETag: header('Entity tag of the version (RFC 9110, section 8.8.3): strong', {
    pattern: '^"[\\x21\\x23-\\x7e]+"$',
  }),
  Location: header('Where it stands', { format: 'uri-reference' }),
  Trailer: header(
    'Fields that follow the last line of a table (RFC 9110, section 6.5): Content-Digest, the SHA-256 of the bytes that were sent (RFC 9530), and X-Row-Count, the number of rows without the heading',
    { const: 'content-digest, x-row-count' },
  ),
  Link: header('Where the next page is, rel="next" (RFC 8288); absent on the last'),
  'Retry-After': header('Time to wait before trying again [s]', { pattern: '^\\d+$' }),
  'WWW-Authenticate': header('How to authenticate (RFC 6750, section 3)'),
  'Accept-Encoding': header('Content encodings that are accepted (RFC 9110, section 15.5.16)'),
  'Preference-Applied': header('Which preference of the request was applied (RFC 7240, section 3)'),
  'OData-Version': header('Version of OData (Protocol 4.0, section 8.1.5)', { const: '4.0' }),
  'Content-Disposition': header('Marks the answer as a file and names it (RFC 6266)'),
} as const satisfies Record<string, Headers[string]>;

export type HeaderName = keyof typeof HEADERS;

const ALWAYS = ['X-Request-Id', 'Cache-Control', 'Vary'] as const;

const LIMITED = ['X-RateLimit-Limit', 'X-RateLimit-Remaining', 'X-RateLimit-Reset'] as const;

/** Additional headers of a failure, by status. */
const OF_STATUS: Record<number, readonly HeaderName[]> = {
  401: ['WWW-Authenticate'],
  409: ['Retry-After'],
  412: ['ETag'], // of the stored version, if it was read
  415: ['Accept-Encoding'],
  429: ['Retry-After'],
  503: ['Retry-After'],
};

export const headerReference = (name: HeaderName): Reference => ({ $ref: `#/components/headers/${name}` });

/** The headers of an answer of this status. */
export const headersOf = (status: number, ...more: HeaderName[]): Record<string, Reference> =>
  Object.fromEntries(
    [...ALWAYS, ...LIMITED, ...(OF_STATUS[status] ?? []), ...more].map((name) => [
      name,
      headerReference(name),
    ]),
  );

/** Declares headers on answers of an operation. */
export const declareHeaders = (
  { responses }: Operation,
  statuses: readonly string[],
  ...names: HeaderName[]
): void => {
  for (const status of statuses) {
    const answer = responses[status];
    if (answer && !('$ref' in answer))
      answer.headers = {
        ...headersOf(Number(status)),
        ...answer.headers,
        ...headersOf(Number(status), ...names),
      };
  }
};

import type { OpenAPIObject } from '@nestjs/swagger';

type Headers = NonNullable<NonNullable<OpenAPIObject['components']>['headers']>;
type Reference = { $ref: string };
type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;

const header = (
  description: string,
  schema: Record<string, unknown> = {},
  required = false,
): Headers[string] => ({ description, required, schema: { type: 'string', ...schema } });

/** What answers carry beside their body, each once; the answers refer to it. */
export const HEADERS = {
  'X-Request-Id': header(
    'The request in the log of the service: of the caller, where it sent one that is fit to be logged',
    { pattern: '^[\\w.-]{1,64}$' },
    true,
  ),
  'Cache-Control': header('Who may keep the answer', { examples: ['private, no-cache'] }, true),
  Vary: header('By what of the request the answer differs', {}, true),
  'X-RateLimit-Limit': header('How many requests a minute the caller has, if they are limited', {
    pattern: '^\\d+$',
  }),
  'X-RateLimit-Remaining': header('How many of them are left', { pattern: '^\\d+$' }),
  'X-RateLimit-Reset': header('After how long the minute is over [s]', { pattern: '^\\d+$' }),
  ETag: header('Entity tag of the version (RFC 9110, section 8.8.3): strong', {
    pattern: '^"[\\x21\\x23-\\x7e]+"$',
  }),
  Location: header('Where it stands', { format: 'uri-reference' }),
  Link: header('Where the next page is, rel="next" (RFC 8288); absent on the last'),
  'Retry-After': header('After how long it is worth trying again [s]', { pattern: '^\\d+$' }),
  'WWW-Authenticate': header('By what to prove oneself (RFC 6750, section 3)'),
  'Accept-Encoding': header('The encodings of bodies that are taken (RFC 9110, section 15.5.16)'),
  'Content-Disposition': header('That the answer is a file, and what it is called (RFC 6266)'),
} as const satisfies Record<string, Headers[string]>;

export type HeaderName = keyof typeof HEADERS;

const ALWAYS = ['X-Request-Id', 'Cache-Control', 'Vary'] as const;

const LIMITED = ['X-RateLimit-Limit', 'X-RateLimit-Remaining', 'X-RateLimit-Reset'] as const;

/** What else a failure carries, by its status. */
const OF_STATUS: Record<number, readonly HeaderName[]> = {
  401: ['WWW-Authenticate'],
  409: ['Retry-After'],
  412: ['ETag'], // of what stands, when it was read
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

/** Says of answers of an operation what they carry. */
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

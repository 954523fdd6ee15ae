/** A type of failure: HTTP status, title (RFC 9457), and what to do about it. */
interface Kind {
  status: number;
  title: string;
  /** What it means and what the caller can do, for the page of problems. */
  about: string;
}

/** Every type of failure. */
export const PROBLEMS = {
  malformed: {
    status: 400,
    title: 'The request cannot be read',
    about:
      'The address, the headers or the body do not follow HTTP, JSON, GraphQL or the form of a multipart message. Correct the request.',
  },
  unauthenticated: {
    status: 401,
    title: 'Authentication required',
    about:
      'Send an access token or an API key as `Authorization: Bearer …`; if one was sent, it is unknown, revoked or expired.',
  },
  forbidden: {
    status: 403,
    title: 'You may not do this',
    about:
      'The caller is known but has no permission for it, or another person is needed. An administrator of the project grants roles.',
  },
  not_found: {
    status: 404,
    title: 'Not found',
    about:
      'No such address, or no such record in this project. A project that the caller may not see is answered the same way.',
  },
  method_not_allowed: {
    status: 405,
    title: 'The address does not take this method',
    about: 'The header `Allow` names the methods that it takes.',
  },
  not_acceptable: {
    status: 406,
    title: 'None of the accepted content types is available',
    about:
      'The header `Accept` excludes what the address answers: JSON, or the type of the file. Send `Accept: */*` or none.',
  },
  timeout: {
    status: 408,
    title: 'The request did not arrive in time',
    about: 'The connection stalled in the middle of the request. Nothing was written; send it again.',
  },
  conflict: {
    status: 409,
    title: 'The request conflicts with the record',
    about:
      'It would break a rule of the record that has no more specific type, or its rows break rules of several types. The detail names the rule.',
  },
  unbalanced: {
    status: 409,
    title: 'The record would not balance',
    about:
      'A metre or a minute would be recorded twice, or be missing. The detail names where; post what is missing first, or correct the record.',
  },
  incomplete: {
    status: 409,
    title: 'Something is still open',
    about:
      'A shift with open items cannot be submitted, one that became doubtful since cannot be countersigned, and a valuation with open shifts cannot be certified. Each entry of `errors` is an open item of the shift: post it as a draft, complete it, or confirm its doubts. Before a valuation is certified, countersign or remove its open shifts.',
  },
  overlap: {
    status: 409,
    title: 'It overlaps what is recorded',
    about: 'A place or a time has one record of its kind. The detail names the other.',
  },
  exists: {
    status: 409,
    title: 'Such a record exists already',
    about: 'Another record has the key or the content that this one would have. The detail names it.',
  },
  in_use: {
    status: 409,
    title: 'It is still in use',
    about: 'The detail names what uses it. Remove or change that first; signed records keep what they use.',
  },
  locked: {
    status: 409,
    title: 'The record is locked',
    about:
      'A countersigned, agreed or certified record depends on it. The detail says how to go on: reopen, another version, or a later date.',
  },
  wrong_state: {
    status: 409,
    title: 'The record is not in a state for this',
    about:
      'For example, a valuation is certified only after it has been agreed. The detail names the state that it has, and the one that it needs.',
  },
  beyond_history: {
    status: 409,
    title: 'The history does not reach that change',
    about:
      'The database holds an earlier state than the one that was followed. Compare the hashes of the changes, and continue after the last one that matches.',
  },
  in_progress: {
    status: 409,
    title: 'The same request is still in progress',
    about: 'A request with this Idempotency-Key is being carried out. Send it again in a moment.',
  },
  already_done: {
    status: 409,
    title: 'The request was carried out before',
    about:
      'It created a secret that is shown once and not stored. If the secret was lost, revoke it and create another.',
  },
  precondition_failed: {
    status: 412,
    title: 'The record is not in the state you named',
    about:
      '`If-Match` does not name the current version, or `If-None-Match: *` was sent for a record that exists. Read it again, then decide.',
  },
  too_large: {
    status: 413,
    title: 'The request is too large',
    about: 'The body, a file or a field exceeds its limit, which the detail names.',
  },
  uri_too_long: {
    status: 414,
    title: 'The address is too long',
    about: 'A segment of the address is longer than any key of the record.',
  },
  unsupported_media_type: {
    status: 415,
    title: 'The content type or encoding is not supported',
    about: 'The detail names the content types that the address takes. Bodies are sent uncompressed.',
  },
  invalid: {
    status: 422,
    title: 'The request breaks a rule',
    about: 'Each entry of `errors` names the place, the value and the rule that it breaks.',
  },
  key_reused: {
    status: 422,
    title: 'The idempotency key belongs to another request',
    about: 'Send another key with another request.',
  },
  precondition_required: {
    status: 428,
    title: 'The record exists: name the version that you replace',
    about:
      'Read the record and send its `ETag` as `If-Match`, so that nobody overwrites what they have not seen.',
  },
  too_many_requests: {
    status: 429,
    title: 'Too many requests',
    about: 'Wait as long as `Retry-After` says.',
  },
  headers_too_large: {
    status: 431,
    title: 'The headers are too large',
    about: 'The headers exceed 16 KB in total.',
  },
  internal: {
    status: 500,
    title: 'The service failed',
    about: 'A defect in the service. Its log has the cause under the answer’s `x-request-id`: report that.',
  },
  not_implemented: {
    status: 501,
    title: 'The service does not support this',
    about:
      'The method is unknown: the header `Allow` of an answer to OPTIONS lists the methods of an address. Or the OData feed does not support a part of the request, which the detail names.',
  },
  unavailable: {
    status: 503,
    title: 'The service cannot answer now',
    about: 'Nothing was written. Try again after `Retry-After` seconds.',
  },
  outcome_unknown: {
    status: 503,
    title: 'It is unknown whether the write was made',
    about:
      'The connection to the database broke while the write was committed. Read the record, or send the same request again: it is safe to repeat.',
  },
} as const satisfies Record<string, Kind>;

export type ProblemCode = keyof typeof PROBLEMS;

/** Address of the page that explains the problems. */
export const PROBLEMS_PATH = '/docs/problems';

/** The address of a problem: its `type` in every answer. */
export const problemType = (code: ProblemCode): string => `${PROBLEMS_PATH}#${code}`;

const ALL = Object.entries(PROBLEMS) as [ProblemCode, Kind][];

/** The text of docs/problems.md. */
export const problemsText = (): string =>
  [
    '# Problems',
    'Every failure is answered as `application/problem+json` (RFC 9457). Its `type` is the address of one of these, relative to the service.',
    ...ALL.map(([code, { status, title, about }]) => `## ${code}\n\n**${status}: ${title}.** ${about}`),
  ].join('\n\n') + '\n';

const html = (text: string): string =>
  text
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replace(/`([^`]*)`/g, '<code>$1</code>');

/** The same as an HTML page. */
export const problemsPage = (): string =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Problems</title></head><body><h1>Problems</h1>
<p>Every failure is answered as <code>application/problem+json</code> (RFC 9457). Its <code>type</code> is the address of one of these.</p>
${ALL.map(([code, { status, title, about }]) => `<section id="${code}"><h2>${code}</h2><p><b>${status}: ${html(title)}.</b> ${html(about)}</p></section>`).join('\n')}
</body></html>
`;

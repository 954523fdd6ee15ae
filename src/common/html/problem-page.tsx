import type { FastifyRequest } from 'fastify';
import Negotiator from 'negotiator';
import type { VNode } from 'preact';
import type { ProblemCode, ProblemError } from '../api/problem.js';
import { Page } from './page.js';
import { isOwnAddress, signInPage } from './sign-in-page.js';

const JSON_FIRST = ['application/problem+json', 'application/json', 'text/html'];

/**
 * Whether to show a failure as a page: to a browser that opens an address or submits a form. Within the API the request must say that
 * it opens a document (Fetch Metadata Request Headers, section 2.1); programs get JSON whatever they accept.
 */
export const wantsPage = ({ url, method, headers }: FastifyRequest): boolean => {
  const { accept, 'sec-fetch-dest': dest } = headers;
  if (accept?.includes('text/html') !== true || url.startsWith('/graphql')) return false;
  if (url.startsWith('/v1/') && (dest !== 'document' || method !== 'GET')) return false;
  return new Negotiator({ headers: { accept } }).mediaType(JSON_FIRST) === 'text/html';
};

/** What the reader can do about it, where that is not obvious. */
const ADVICE: Partial<Record<ProblemCode, string>> = {
  not_found: 'The address may be mistyped, or belong to a project that you may not read.',
  forbidden: 'Ask an administrator of the project for a role.',
  unavailable: 'Try again in a few seconds.',
};

/** A failure as a page; the sign-in form for a reader who is not authenticated. */
export const problemPage = (
  { code, problem }: ProblemError,
  { url, method, headers, server: { offersIssuer } }: FastifyRequest,
): VNode => {
  const isForm = method === 'POST';
  if (code === 'unauthenticated' || (isForm && (code === 'invalid' || code === 'too_many_requests'))) {
    const isSigningIn = /^\/sign-in(\/|\?|$)/.test(url);
    const isFirst = !isForm && !isSigningIn && headers.authorization === undefined;
    const next = !isForm && !isSigningIn && isOwnAddress(url) ? url : '/';
    const reason = problem.errors?.map(({ detail }) => detail).join('; ') || problem.detail;
    return signInPage({ next, isIssuerOffered: offersIssuer, ...(isFirst ? {} : { refused: reason }) });
  }
  return (
    <Page title={problem.title}>
      <main class="narrow">
        <h1>{problem.title}</h1>
        {!problem.errors?.length && <p>{problem.detail}</p>}
        {problem.errors && (
          <ul>
            {problem.errors.map(({ detail }) => (
              <li>{detail}</li>
            ))}
          </ul>
        )}
        {ADVICE[code] !== undefined && <p>{ADVICE[code]}</p>}
        <p>
          <a href="/">Back to the drives</a>
        </p>
      </main>
    </Page>
  );
};

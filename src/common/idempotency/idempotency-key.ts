import type { FastifyRequest } from 'fastify';
import { faulty } from '../api/problem.js';

const HEADER = 'idempotency-key';
const MAX_LENGTH = 255;

/**
 * A String of Structured Field Values with its parameters, none of which has a meaning here.
 * Source: draft-ietf-httpapi-idempotency-key-header-07, section 2.1; RFC 9651, sections 3.1.2 and 3.3.3.
 */
const ITEM =
  /^ *"((?:[ !#-[\]-~]|\\["\\])*)"(?:; *[a-z*][a-z0-9_.*-]*(?:=(?:"(?:[ !#-[\]-~]|\\["\\])*"|[^\s";,]+))?)* *$/;

const RULE = `must be a string in double quotes, of 1 to ${MAX_LENGTH} printable ASCII characters, such as "8e03978e-40d5-43e8-bc93-6894a57f9324"`;

/** The key of a request; undefined when it has none. @throws ProblemError malformed */
export const keyOf = ({ headers }: FastifyRequest): string | undefined => {
  const given = headers[HEADER];
  if (given === undefined) return undefined;
  const key = ITEM.exec(String(given))?.[1]?.replace(/\\(["\\])/g, '$1');
  if (key && key.length <= MAX_LENGTH) return key;
  const value = String(given).slice(0, 100);
  throw faulty('malformed', [
    { in: 'header', pointer: '/Idempotency-Key', value, detail: `Idempotency-Key ${RULE}` },
  ]);
};

const sha256 = async (data: Uint8Array<ArrayBuffer>): Promise<string> =>
  Buffer.from(await crypto.subtle.digest('SHA-256', data)).toString('hex'); // off the event loop: a file may be large

/** The body in digestible form: the parts of a form are already parsed, with files as their bytes. */
const digestible = async (body: unknown): Promise<unknown> =>
  typeof body !== 'object' || body === null
    ? (body ?? null)
    : Promise.all(
        Object.entries(body).map(async ([name, part]: [string, unknown]) => [
          name,
          part instanceof Uint8Array ? await sha256(part as Uint8Array<ArrayBuffer>) : part,
        ]),
      );

/** Distinguishes a repeat from another request with the same key. */
export const fingerprintOf = async ({ url, headers, body }: FastifyRequest): Promise<string> =>
  sha256(
    new TextEncoder().encode(
      JSON.stringify([url, headers['if-match'] ?? null, headers['x-reason'] ?? null, await digestible(body)]),
    ),
  );

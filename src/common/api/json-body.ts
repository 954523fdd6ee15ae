import type { FastifyInstance } from 'fastify';
import { jsonFault } from './json-limits.js';
import { faulty, ProblemError } from './problem.js';

/** From this size on, limits, parsing and validation take milliseconds and are spread over turns of the event loop. */
const LARGE_BYTES = 64 * 1024;

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** What is wrong with a text, in JavaScript's words; valid JSON can only have been refused for a forbidden name in it. */
const notJson = (text: string): string => {
  try {
    JSON.parse(text);
    return 'The body has a field named "__proto__" or "constructor", which no record has.';
  } catch (error) {
    return `The body is not JSON: ${(error as Error).message}`;
  }
};

/** Reads JSON bodies; those beyond the limits are refused unparsed, and so are bytes that are not UTF-8. */
export const readJsonBodies = (fastify: FastifyInstance): void => {
  const parse = fastify.getDefaultJsonParser('error', 'error');
  fastify.removeContentTypeParser(['application/json', 'text/plain']); // no route takes plain text: 415
  fastify.addContentTypeParser('application/json', { parseAs: 'buffer' }, (request, body, done) => {
    const fault = jsonFault(body as Buffer);
    if (fault) {
      done(faulty('invalid', [fault]));
      return;
    }
    if ((body as Buffer).length === 0) {
      done(new ProblemError('malformed', 'The body is empty: send JSON, or no Content-Type.'));
      return;
    }
    const read = (): void => {
      let text: string;
      try {
        text = utf8.decode(body as Buffer);
      } catch {
        done(new ProblemError('malformed', 'The body is not UTF-8.'));
        return;
      }
      void parse(request, text, (error, value) => {
        if (error) done(new ProblemError('malformed', notJson(text)));
        else if ((body as Buffer).length > LARGE_BYTES) setImmediate(done, null, value);
        else done(null, value);
      });
    };
    if ((body as Buffer).length > LARGE_BYTES) setImmediate(read);
    else read();
  });
};

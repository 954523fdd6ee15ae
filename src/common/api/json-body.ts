import type { FastifyInstance } from 'fastify';
import { jsonFault } from './json-limits.js';
import { faulty, ProblemError } from './problem.js';

const utf8 = new TextDecoder('utf-8', { fatal: true });

/** Reads JSON bodies; those beyond the limits are refused unparsed, and bytes that are not UTF-8 are not replaced. */
export const readJsonBodies = (fastify: FastifyInstance): void => {
  const parse = fastify.getDefaultJsonParser('error', 'error');
  fastify.removeContentTypeParser(['application/json', 'text/plain']); // no route takes plain text: 415
  fastify.addContentTypeParser('application/json', { parseAs: 'buffer' }, (request, body, done) => {
    const fault = jsonFault(body as Buffer);
    if (fault) {
      done(faulty('invalid', [fault]));
      return;
    }
    let text: string;
    try {
      text = utf8.decode(body as Buffer);
    } catch {
      done(new ProblemError('malformed', 'The body is not UTF-8.'));
      return;
    }
    void parse(request, text, (error, value) => {
      if (error) done(new ProblemError('malformed', `The body is not JSON: ${error.message}`));
      else done(null, value);
    });
  });
};

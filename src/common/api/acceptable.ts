import type { FastifyInstance, FastifyRequest } from 'fastify';
import { PROBLEM_TYPE } from './problem.filter.js';
import { ProblemError } from './problem.js';

/** A media range of Accept, with how much it is wanted (RFC 9110, section 12.5.1). */
interface Range {
  type: string;
  subtype: string;
  quality: number;
}

const rangesOf = (accept: string): Range[] =>
  accept.split(',').flatMap((text) => {
    const [range = '', ...parameters] = text.split(';').map((part) => part.trim().toLowerCase());
    const [type, subtype] = range.split('/');
    if (!type || !subtype) return [];
    const quality = parameters.find((each) => each.startsWith('q='));
    return [{ type, subtype, quality: quality === undefined ? 1 : Number(quality.slice(2)) }];
  });

const fit = ({ type, subtype }: Range, [ownType, ownSubtype]: string[]): number => {
  if (type === ownType && subtype === ownSubtype) return 3;
  if (type === ownType && subtype === '*') return 2;
  return type === '*' && subtype === '*' ? 1 : 0;
};

/** Whether a content type may be sent: the most specific range that fits it decides. What cannot be read says nothing. */
export const accepts = (accept: string | undefined, contentType: string): boolean => {
  if (accept === undefined || accept === '*/*') return true;
  const ranges = rangesOf(accept);
  if (ranges.length === 0) return true;
  const own = (contentType.split(';')[0] ?? '').trim().toLowerCase().split('/');
  const best = ranges
    .map((range) => ({ range, fits: fit(range, own) }))
    .filter(({ fits }) => fits > 0)
    .sort((one, other) => other.fits - one.fits)[0];
  return best !== undefined && best.range.quality > 0;
};

const JSON_TYPE = 'application/json';

const notAcceptable = (contentType: string): ProblemError =>
  new ProblemError('not_acceptable', `This address answers ${contentType}, which Accept leaves out.`);

/** Writes answer JSON, and are refused before they are carried out; a DELETE answers nothing. */
const isJsonWrite = ({ method, routeOptions }: FastifyRequest): boolean =>
  (method === 'PUT' || method === 'POST') && routeOptions.url?.startsWith('/v1/') === true;

/** Refuses to send what is not accepted. A failure is answered whatever Accept says. */
export const honourAccept = (fastify: FastifyInstance): void => {
  fastify.addHook('preHandler', (request, _reply, done) => {
    const { accept } = request.headers;
    if (isJsonWrite(request) && !accepts(accept, JSON_TYPE)) done(notAcceptable(JSON_TYPE));
    else done();
  });
  fastify.addHook('onSend', (request, reply, payload, done) => {
    const { accept } = request.headers;
    const contentType = String(reply.getHeader('content-type') ?? '');
    const isReading = request.method === 'GET' || request.method === 'HEAD';
    if (!isReading || reply.statusCode !== 200 || contentType === '' || accepts(accept, contentType)) {
      done(null, payload);
      return;
    }
    (payload as { destroy?: () => void } | null)?.destroy?.();
    for (const name of ['content-length', 'content-disposition', 'etag']) reply.removeHeader(name);
    const { status, problem } = notAcceptable(contentType.split(';')[0] ?? '');
    void reply.status(status).header('content-type', PROBLEM_TYPE);
    done(null, JSON.stringify(problem));
  });
};

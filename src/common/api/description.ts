import type { FastifyReply } from 'fastify';

/** What a route says of its answer, before it is known whether that is sent. */
const OF_ANSWER = ['content-disposition', 'content-length', 'link', 'odata-version', 'preference-applied'];

/** Takes back what was said of an answer that is not sent: a failure, or 304, has none of it. */
export const dropDescription = (reply: FastifyReply): void => {
  for (const name of OF_ANSWER) void reply.removeHeader(name);
};

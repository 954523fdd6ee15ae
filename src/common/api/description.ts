import type { FastifyReply } from 'fastify';

/** Headers that describe an answer, set before it is known whether the answer is sent. */
const OF_ANSWER = ['content-disposition', 'content-length', 'link', 'odata-version', 'preference-applied'];

/** Removes the headers of an answer that is not sent: a failure or a 304 carries none of them. */
export const dropDescription = (reply: FastifyReply): void => {
  for (const name of OF_ANSWER) void reply.removeHeader(name);
};

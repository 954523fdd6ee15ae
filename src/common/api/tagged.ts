import type { FastifyReply } from 'fastify';

/** The answer, with its entity tag sent as the header it is named by. */
export const tagged = <Answer extends { etag: string }>(reply: FastifyReply, answer: Answer): Answer => {
  void reply.header('etag', answer.etag);
  return answer;
};

import type { FastifyReply } from 'fastify';

/** The answer, with its `etag` also sent as the ETag header. */
export const tagged = <Answer extends { etag: string }>(reply: FastifyReply, answer: Answer): Answer => {
  void reply.header('etag', answer.etag);
  return answer;
};

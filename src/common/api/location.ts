import { SetMetadata } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';

const CREATES = 'creates';

type KeyOf = (answer: never) => string | number;

/** The route creates a resource below its own address, by the key in its answer. */
export const Creates = <Answer>(keyOf: (answer: Answer) => string | number): MethodDecorator =>
  SetMetadata(CREATES, keyOf);

/** undefined: the route creates nothing below its address. */
export const createdKey = (handler: object): KeyOf | undefined =>
  Reflect.getMetadata(CREATES, handler) as KeyOf | undefined;

/** Sets Location to the resource that was created or put: the request's own address, or one below it. */
export const locate = (reply: FastifyReply, { url }: FastifyRequest, key?: string | number): void => {
  const [path = ''] = url.split('?');
  void reply.header('location', key === undefined ? path : `${path}/${encodeURIComponent(key)}`);
};

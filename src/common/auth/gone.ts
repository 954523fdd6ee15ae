import { setMaxListeners } from 'node:events';
import type { ServerResponse } from 'node:http';
import type { ExecutionContext } from '@nestjs/common';
import type { FastifyReply } from 'fastify';

const signals = new WeakMap<ServerResponse, AbortSignal>();

const replyOf = (context: ExecutionContext): Partial<FastifyReply> =>
  context.getType<'http' | 'graphql'>() === 'graphql'
    ? context.getArgByIndex<{ reply: Partial<FastifyReply> }>(2).reply
    : context.switchToHttp().getResponse<FastifyReply>();

/** Aborted when the connection closes before the answer is sent. */
export const signalOf = (raw: ServerResponse): AbortSignal => {
  const known = signals.get(raw);
  if (known) return known;
  const controller = new AbortController();
  setMaxListeners(0, controller.signal); // each field of a GraphQL query listens
  signals.set(raw, controller.signal);
  raw.once('close', () => {
    if (!raw.writableFinished) controller.abort();
  });
  return controller.signal;
};

/** The signal of a call; undefined for subscriptions, which have no answer. */
export const disconnectSignal = (context: ExecutionContext): AbortSignal | undefined => {
  const { raw } = replyOf(context);
  return raw && signalOf(raw);
};

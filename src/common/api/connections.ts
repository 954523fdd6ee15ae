import type { EventEmitter } from 'node:events';
import { Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { Config, type SocketLimits } from '../config/config.js';
import { ProblemError } from './problem.js';
import { addressOf } from './rate-limit.js';

/** Per instance. */
const MAX_CONNECTIONS = 5000;

const MAX_SUBSCRIPTIONS_OF_ONE = 50;

/** Number of subscriptions on a connection. */
type Count = () => number;

const refused = (detail: string): ProblemError => new ProblemError('too_many_requests', detail);

/** Connections kept open for subscriptions, by WebSocket or event stream. Counted by address from the first byte, and by caller once authenticated. */
@Injectable()
export class Connections {
  private inAll = 0;
  private readonly ofAddress = new Map<string, number>();
  private readonly ofCaller = new Map<string, Set<Count>>();

  private readonly limits: SocketLimits;

  constructor({ sockets }: Config) {
    this.limits = sockets;
  }

  /** Takes a place until the socket (or `open`) closes. @throws ProblemError too_many_requests, unavailable */
  admit(request: FastifyRequest, open: EventEmitter = request.raw.socket): void {
    const { connectionsPerAddress: max } = this.limits;
    const address = addressOf(request);
    const now = this.ofAddress.get(address) ?? 0;
    if (now >= max) throw refused(`More than ${max} connections of one address.`);
    if (this.inAll >= MAX_CONNECTIONS)
      throw new ProblemError('unavailable', `More than ${MAX_CONNECTIONS} connections.`);
    this.inAll += 1;
    this.ofAddress.set(address, now + 1);
    open.once('close', () => {
      this.inAll -= 1;
      const left = (this.ofAddress.get(address) ?? 1) - 1;
      if (left > 0) this.ofAddress.set(address, left);
      else this.ofAddress.delete(address);
    });
  }

  /** @returns a function that releases the place @throws ProblemError too_many_requests */
  enter(caller: string, count: Count): () => void {
    const { connectionsPerCaller: max } = this.limits;
    const others = this.ofCaller.get(caller) ?? new Set();
    if (others.size >= max) throw refused(`More than ${max} connections of one caller.`);
    this.ofCaller.set(caller, others.add(count));
    return () => {
      others.delete(count);
      if (others.size === 0 && this.ofCaller.get(caller) === others) this.ofCaller.delete(caller);
    };
  }

  /** Call it with the new subscription already counted. @throws ProblemError too_many_requests */
  refuseMore(caller: string, own: Count): void {
    const { subscriptionsPerCaller: max } = this.limits;
    if (own() > MAX_SUBSCRIPTIONS_OF_ONE)
      throw refused(`More than ${MAX_SUBSCRIPTIONS_OF_ONE} subscriptions of one connection.`);
    const inAll = [...(this.ofCaller.get(caller) ?? [])].reduce((sum, count) => sum + count(), 0);
    if (inAll > max) throw refused(`More than ${max} subscriptions of one caller.`);
  }
}

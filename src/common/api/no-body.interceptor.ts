import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import type { FastifyRequest } from 'fastify';
import type { Observable } from 'rxjs';
import { escaped, type Fault, faulty } from './problem.js';
import { ofArguments } from './route-arguments.js';

/** Arguments by which a route reads a body: whole, or as a stream. */
const READING = [RouteParamtypes.BODY, RouteParamtypes.RAW_BODY, RouteParamtypes.REQUEST];

const isReading = ofArguments((taken) => taken.some(({ kind }) => READING.includes(kind)));

const takesBody = ofArguments((taken) => taken.some(({ kind }) => kind === RouteParamtypes.BODY));

/** Reported by every route that takes no body, and by every reading. */
export const NO_BODY: Fault = { in: 'body', pointer: '', detail: 'this route takes no body' };

const { detail: DETAIL } = NO_BODY;

const faultsOf = (body: unknown): Fault[] => {
  if (body === undefined || body === null) return [];
  if (typeof body !== 'object' || Array.isArray(body))
    return [{ in: 'body', pointer: '', value: body, detail: DETAIL }];
  return Object.entries(body).map(([name, value]) => ({
    in: 'body',
    pointer: `/${escaped(name)}`,
    value: value as unknown,
    detail: `unknown field ${JSON.stringify(name)}: ${DETAIL}`,
  }));
};

/**
 * A route that takes no body refuses one: if it were ignored, a caller who agrees with `{"dryRun": true}` would have signed. An
 * empty object is accepted, because some clients send one with every POST. A PUT without a body is refused, because it would
 * otherwise reset every field.
 */
@Injectable()
export class NoBodyInterceptor implements NestInterceptor {
  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    const { body, method } = context.switchToHttp().getRequest<FastifyRequest>();
    if (body === undefined && method === 'PUT' && takesBody(context))
      throw faulty('invalid', [
        { in: 'body', pointer: '', detail: 'the body is missing: send the record to be put' },
      ]);
    const faults = isReading(context) ? [] : faultsOf(body);
    if (faults.length > 0) throw faulty('invalid', faults);
    return next.handle();
  }
}

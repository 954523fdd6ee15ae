import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import type { FastifyRequest } from 'fastify';
import type { Observable } from 'rxjs';
import { escaped, type Fault, faulty } from './problem.js';
import { ofArguments } from './route-arguments.js';

/** Arguments by which a route reads a body: whole, or as it comes. */
const READING = [RouteParamtypes.BODY, RouteParamtypes.RAW_BODY, RouteParamtypes.REQUEST];

const isReading = ofArguments((taken) => taken.some(({ kind }) => READING.includes(kind)));

const takesBody = ofArguments((taken) => taken.some(({ kind }) => kind === RouteParamtypes.BODY));

/** As every route says that takes none, and every reading. */
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
 * A body is refused by a route that takes none: passed over, whoever agrees with `{"dryRun": true}` would have signed. An empty object
 * says nothing, and some clients send one with every POST. A PUT without a body says nothing either, and would put what every field left
 * out means.
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

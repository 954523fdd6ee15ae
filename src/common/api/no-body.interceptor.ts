import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { RouteParamtypes } from '@nestjs/common/internal.js';
import type { FastifyRequest } from 'fastify';
import type { Observable } from 'rxjs';
import { escaped, type Fault, faulty } from './problem.js';
import { routeArguments } from './route-arguments.js';

/** Arguments by which a route reads a body: whole, or as it comes. */
const READING = [RouteParamtypes.BODY, RouteParamtypes.RAW_BODY, RouteParamtypes.REQUEST];

const DETAIL = 'this route takes no body';

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
 * says nothing, and some clients send one with every POST.
 */
@Injectable()
export class NoBodyInterceptor implements NestInterceptor {
  private readonly reading = new WeakMap<object, boolean>();

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    const { body } = context.switchToHttp().getRequest<FastifyRequest>();
    const faults = this.isReading(context) ? [] : faultsOf(body);
    if (faults.length > 0) throw faulty('invalid', faults);
    return next.handle();
  }

  private isReading(context: ExecutionContext): boolean {
    const handler = context.getHandler();
    const known = this.reading.get(handler);
    if (known !== undefined) return known;
    const taken = routeArguments(context.getClass(), handler.name);
    const found = taken.some(({ kind }) => READING.includes(kind));
    this.reading.set(handler, found);
    return found;
  }
}

import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  SetMetadata,
} from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import type { Observable } from 'rxjs';
import { escaped, type Fault, faulty } from './problem.js';
import { queryNames } from './route-arguments.js';

/** Whether a route reads the record, so that it can be asked of a moment. */
export const takesMoment = (method: string, url: string | undefined): boolean =>
  (method === 'GET' || method === 'HEAD') && url?.startsWith('/v1/projects') === true;

/** Whether what it reads has a past: jobs have none, and say so. */
export const hasPast = (url: string): boolean => !/^\/v1\/projects\/[^/]+\/jobs(\/|$)/.test(url);

const listed = (names: readonly string[]): string =>
  names.length === 0 ? 'this route takes no query parameters' : `this route takes ${names.join(', ')}`;

/** A name that differs in case or brackets alone. */
const meant = (name: string, allowed: readonly string[]): string => {
  const plain = name.replace(/[^A-Za-z]/g, '').toLowerCase();
  const near = allowed.find((each) => each.toLowerCase() === plain);
  return near === undefined ? '' : `; write ${near}`;
};

/**
 * The parameters of an address that a route does not take, and those given more than once.
 * @param named  those that it names to whoever sends another
 */
export const unknownParameters = (
  query: Record<string, unknown>,
  allowed: readonly string[],
  named = allowed,
): Fault[] =>
  Object.entries(query).flatMap(([name, value]): Fault[] => {
    const place = { in: 'query', pointer: `/${escaped(name)}`, value } as const;
    if (!allowed.includes(name))
      return [
        {
          ...place,
          detail: `unknown query parameter ${JSON.stringify(name)}${meant(name, named)}: ${listed(named)}`,
        },
      ];
    if (Array.isArray(value))
      return [{ ...place, detail: `${name} is given ${value.length} times: it takes one value` }];
    return [];
  });

const ANY_QUERY = 'drivebook:any query';

/** The route is asked by others who add parameters of their own, and ignores what it does not know (RFC 6749, section 4.1.2). */
export const AnyQuery = (): MethodDecorator => SetMetadata(ANY_QUERY, true);

/**
 * A query parameter that a route does not declare is refused, on every route: passed over, `asof=` would answer of today
 * and `from=` of the whole drive.
 */
@Injectable()
export class QueryInterceptor implements NestInterceptor {
  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    const { query, method, routeOptions } = context.switchToHttp().getRequest<FastifyRequest>();
    const given = query as Record<string, unknown>;
    const isAny = Reflect.getMetadata(ANY_QUERY, context.getHandler()) === true;
    if (isAny || Object.keys(given).length === 0) return next.handle();
    const declared = queryNames(context);
    const allowed = takesMoment(method, routeOptions.url) ? [...declared, 'asOf'] : declared;
    const named = hasPast(routeOptions.url ?? '') ? allowed : declared;
    const faults = unknownParameters(given, allowed, named);
    if (faults.length > 0) throw faulty('invalid', faults);
    return next.handle();
  }
}

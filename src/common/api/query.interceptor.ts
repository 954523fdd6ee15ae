import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  SetMetadata,
} from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import type { Observable } from 'rxjs';
import { FORMAT, takeFormat } from './lists-out/format.js';
import { listRead } from './lists-out/list-of.js';
import { escaped, type Fault, faulty } from './problem.js';
import { queryNames } from './route-arguments.js';

/** Whether a route reads the record and so takes a moment. */
export const takesMoment = (method: string, url: string | undefined): boolean =>
  (method === 'GET' || method === 'HEAD') && url?.startsWith('/v1/projects') === true;

/** Whether the resource has a past: jobs have none, and refuse a moment. */
export const hasPast = (url: string): boolean => !/^\/v1\/projects\/[^/]+\/jobs(\/|$)/.test(url);

const listed = (names: readonly string[]): string =>
  names.length === 0 ? 'this route takes no query parameters' : `this route takes ${names.join(', ')}`;

/** An allowed name that differs only in case or brackets. */
const meant = (name: string, allowed: readonly string[]): string => {
  const plain = name.replace(/[^A-Za-z]/g, '').toLowerCase();
  const near = allowed.find((each) => each.toLowerCase() === plain);
  return near === undefined ? '' : `; write ${near}`;
};

/**
 * Query parameters that a route does not take, and those given more than once.
 * @param named  the parameters listed in the error
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

/** The route is called by third parties that add their own parameters; unknown ones are ignored (RFC 6749, section 4.1.2). */
export const AnyQuery = (): MethodDecorator => SetMetadata(ANY_QUERY, true);

/**
 * Refuses a query parameter that a route does not declare, on every route: if ignored, `asof=` would answer for today and
 * `from=` for the whole drive.
 */
@Injectable()
export class QueryInterceptor implements NestInterceptor {
  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    const request = context.switchToHttp().getRequest<FastifyRequest>();
    const { query, method, routeOptions } = request;
    const given = query as Record<string, unknown>;
    const isAny = Reflect.getMetadata(ANY_QUERY, context.getHandler()) === true;
    if (isAny || Object.keys(given).length === 0) return next.handle();
    const isList = listRead(context.getHandler(), method) !== undefined;
    const declared = isList ? [...queryNames(context), FORMAT] : queryNames(context);
    const allowed = takesMoment(method, routeOptions.url) ? [...declared, 'asOf'] : declared;
    const named = hasPast(routeOptions.url ?? '') ? allowed : declared;
    const faults = unknownParameters(given, allowed, named);
    if (faults.length > 0) throw faulty('invalid', faults);
    if (isList) takeFormat(request);
    return next.handle();
  }
}

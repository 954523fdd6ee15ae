import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { type Observable, tap } from 'rxjs';
import { queryNames } from './route-arguments.js';

/** Sets the link to the next page (RFC 8288), by the key after which it begins. */
export const linkNext = ({ url }: FastifyRequest, reply: FastifyReply, key: string | number): void => {
  const [path = '', search] = url.split('?');
  const query = new URLSearchParams(search);
  query.set('after', String(key));
  void reply.header('link', `<${path}?${query.toString()}>; rel="next"`);
};

/** Adds a link to the next page of a list, beside the key in its body. */
@Injectable()
export class PagingInterceptor implements NestInterceptor {
  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    if (context.getType() !== 'http') return next.handle();
    return next.handle().pipe(
      tap((answer: unknown) => {
        const key = (answer as { next?: string | number } | null | undefined)?.next;
        if (key == null || !queryNames(context).includes('after')) return;
        const http = context.switchToHttp();
        linkNext(http.getRequest<FastifyRequest>(), http.getResponse<FastifyReply>(), key);
      }),
    );
  }
}

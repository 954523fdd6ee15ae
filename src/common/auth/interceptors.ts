import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { from, isObservable, mergeAll, type Observable } from 'rxjs';
import { ListsOutInterceptor } from '../api/lists-out/lists-out.interceptor.js';
import { NoBodyInterceptor } from '../api/no-body.interceptor.js';
import { PagingInterceptor } from '../api/paging.interceptor.js';
import { PreconditionsInterceptor } from '../api/preconditions.interceptor.js';
import { QueryInterceptor } from '../api/query.interceptor.js';
import { WholeInterceptor } from '../api/whole.js';
import { OnceInterceptor } from '../idempotency/once.interceptor.js';
import { AccessInterceptor } from './access.interceptor.js';

/**
 * Everything around routes and fields, as one interceptor: Nest adds an observable, a promise and an async context for each of
 * its own. The outermost is asynchronous, so what an inner one throws is reported as a failure of the call.
 */
@Injectable()
export class Interceptors implements NestInterceptor {
  private readonly inOrder: NestInterceptor[];

  constructor(
    access: AccessInterceptor,
    query: QueryInterceptor, // after access: a refused caller learns nothing about the route
    noBody: NoBodyInterceptor,
    once: OnceInterceptor, // within the scope
    paging: PagingInterceptor,
    listsOut: ListsOutInterceptor,
    preconditions: PreconditionsInterceptor, // after idempotency: a repeated request gets its original answer
    whole: WholeInterceptor, // innermost: preconditions compare and tag the completed answer
  ) {
    this.inOrder = [access, query, noBody, once, paging, listsOut, preconditions, whole];
  }

  intercept(context: ExecutionContext, next: CallHandler): Observable<unknown> {
    return this.through(0, context, next);
  }

  private through(place: number, context: ExecutionContext, next: CallHandler): Observable<unknown> {
    const interceptor = this.inOrder[place];
    if (!interceptor) return next.handle();
    const answer = interceptor.intercept(context, { handle: () => this.through(place + 1, context, next) });
    return isObservable(answer) ? answer : from(answer).pipe(mergeAll());
  }
}

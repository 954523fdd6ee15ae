import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import { type Observable, tap } from 'rxjs';
import { ProblemError } from '../api/problem.js';
import { inScope } from '../database/scope.js';
import { Access } from './access.js';
import { callerOf, keepMoment, projectOf } from './caller.js';
import { RULE, type Rule } from './permit.js';

/** Lets a call through by the rule that stands beside it, and runs it in its scope. Without a rule nothing goes through. */
@Injectable()
export class AccessInterceptor implements NestInterceptor {
  constructor(
    private readonly reflector: Reflector,
    private readonly access: Access,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const rule = this.reflector.get<Rule | undefined>(RULE, context.getHandler());
    if (!rule) throw new ProblemError('forbidden', 'No permission is declared for this: nobody may do it.');
    const { permission, creates = false } = rule;
    if (!permission) return next.handle();
    const caller = callerOf(context);
    const project = projectOf(context);
    const { asOf } = caller;
    // The call keeps the context in which handle() is asked, not that of its subscriber.
    const answers = (): Observable<unknown> =>
      asOf ? next.handle().pipe(tap((answer) => keepMoment(answer, asOf))) : next.handle();
    if (project === undefined) return answers();
    return inScope(await this.access[creates ? 'enterNew' : 'enter'](caller, project, permission), answers);
  }
}

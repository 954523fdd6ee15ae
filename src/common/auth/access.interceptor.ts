import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import { type Observable, tap } from 'rxjs';
import { codeFault } from '../api/fields.js';
import { ProblemError } from '../api/problem.js';
import { inScope, type Load, type Scope } from '../database/scope.js';
import { Database } from '../database/database.js';
import { Access } from './access.js';
import { argumentsOf, callerOf, keepMoment, projectOf } from './caller.js';
import { TtlCache } from './ttl-cache.js';
import { disconnectSignal } from './gone.js';
import { costOf, isHeavy } from './heavy.js';
import { RULE, type Rule } from './permit.js';

/** Admits a call by the rule declared on it, and runs it in its scope. Without a rule every call is refused. */
@Injectable()
export class AccessInterceptor implements NestInterceptor {
  private readonly lengths = new TtlCache<number>();

  constructor(
    private readonly reflector: Reflector,
    private readonly access: Access,
    private readonly database: Database,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const rule = this.reflector.get<Rule | undefined>(RULE, context.getHandler());
    if (!rule) throw new ProblemError('forbidden', 'No permission is declared for this: nobody may do it.');
    const { permission, creates = false } = rule;
    if (!permission) return next.handle();
    const caller = callerOf(context);
    const project = projectOf(context);
    const { asOf } = caller;
    // The call runs in the async context in which handle() is called, not that of its subscriber.
    const answers = (): Observable<unknown> =>
      asOf ? next.handle().pipe(tap((answer) => keepMoment(answer, asOf))) : next.handle();
    if (project === undefined) return answers();
    const entered = await this.access[creates ? 'enterNew' : 'enter'](caller, project, permission);
    return inScope({ ...entered, load: await this.loadOf(context, entered) }, answers);
  }

  /** The expected database load of the call, from its declaration and its arguments. */
  private async loadOf(context: ExecutionContext, current: Scope): Promise<Load> {
    const { drive, lengthM } = argumentsOf(context);
    const heavy = isHeavy(this.reflector, context);
    const isAsOf = current.asOf !== undefined;
    const gone = disconnectSignal(context);
    // The operation queues as a whole, with the cost of its document.
    if (current.readings) return { cost: costOf({ isHeavy: heavy, isAsOf, driveLengthM: 0 }), gone };
    const cost = costOf({
      isHeavy: heavy,
      isAsOf,
      driveLengthM:
        heavy && codeFault(drive) === undefined ? await this.driveLength(current, String(drive)) : 0,
      lengthM,
    });
    return { cost, gone };
  }

  /** 0 for a missing drive, which the reader reports. */
  private driveLength(current: Scope, drive: string): Promise<number> {
    return this.lengths.get(JSON.stringify([current.projectId, drive]), async () => {
      const [found] = await inScope({ ...current, asOf: undefined }, () =>
        this.database.read<{ lengthM: number }>(DRIVE_LENGTH, drive),
      );
      return found?.lengthM ?? 0;
    });
  }
}

const DRIVE_LENGTH = `select drive_length(start_chainage_m, end_chainage_m)::float8 as "lengthM" from drive where code = $1`;

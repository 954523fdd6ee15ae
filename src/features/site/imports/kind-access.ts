import { type CallHandler, type ExecutionContext, Injectable, type NestInterceptor } from '@nestjs/common';
import type { Observable } from 'rxjs';
import { Access } from '../../../common/auth/access.js';
import { callerOf, requestOf } from '../../../common/auth/caller.js';
import { Kinds } from './kinds.service.js';

/** Lets through who may put the records of the kind in the address, before the form is judged. */
@Injectable()
export class KindAccess implements NestInterceptor {
  constructor(
    private readonly kinds: Kinds,
    private readonly access: Access,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const { project = '', kind = '' } = requestOf(context).params as Record<string, string | undefined>;
    const permission = this.kinds.find(kind)?.permission; // a kind that is not there is answered after the form
    if (permission) await this.access.enter(callerOf(context), project, permission);
    return next.handle();
  }
}

import {
  applyDecorators,
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  UseInterceptors,
} from '@nestjs/common';
import { ApiExtension } from '@nestjs/swagger';
import type { Observable } from 'rxjs';
import { PERMISSION_BY_KIND } from '../../../common/api/openapi-common.js';
import { Access } from '../../../common/auth/access.js';
import { callerOf, requestOf } from '../../../common/auth/caller.js';
import { Permit } from '../../../common/auth/permit.js';
import { type KindDeclaration, KINDS } from './kinds.js';
import { BASE, Kinds } from './kinds.service.js';

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

/** A route that takes records of many kinds: the permission is that of the kind in its address, which is that of its PUT. @param isOf  the kinds that it takes */
export const PermitByKind = (isOf: (kind: KindDeclaration) => boolean = () => true): MethodDecorator =>
  applyDecorators(
    Permit('record.read'),
    UseInterceptors(KindAccess),
    ApiExtension(
      PERMISSION_BY_KIND,
      Object.fromEntries(
        KINDS.filter(isOf).map((each) => [
          each.kind,
          each.put === undefined ? each.permission : `${BASE}/${each.put}`,
        ]),
      ),
    ),
  );

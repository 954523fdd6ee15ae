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

/** Checks the permission for the kind in the address before the form is read. */
@Injectable()
export class KindAccess implements NestInterceptor {
  constructor(
    private readonly kinds: Kinds,
    private readonly access: Access,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const { project = '', kind = '' } = requestOf(context).params as Record<string, string | undefined>;
    const permission = this.kinds.find(kind)?.permission; // an unknown kind is reported after the form is read
    if (permission) await this.access.enter(callerOf(context), project, permission);
    return next.handle();
  }
}

/** A route for records of many kinds: it needs the permission of the PUT of the kind in its address. @param isOf  the kinds that it takes */
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

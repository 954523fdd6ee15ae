import { applyDecorators, SetMetadata } from '@nestjs/common';
import { Extensions } from '@nestjs/graphql';
import { ApiBearerAuth, ApiExtension } from '@nestjs/swagger';
import type { Permission } from './permissions.js';

/** The access rule of a route or field: the permission it needs, or open to all. */
export interface Rule {
  permission?: Permission;
  /** The project in the address may be a new one. */
  creates?: boolean;
}

export const RULE = 'drivebook:rule';

/** The class and method that resolve a field. */
export interface Resolver {
  handler: object;
  class: object;
}

export const RESOLVER = 'drivebook:resolver';

const rule =
  (value: Rule, ...more: MethodDecorator[]): MethodDecorator =>
  (target, name, descriptor) => {
    const resolver: Resolver = { handler: descriptor.value as object, class: target.constructor };
    applyDecorators(
      SetMetadata(RULE, value),
      Extensions({ [RULE]: value, [RESOLVER]: resolver }) as MethodDecorator,
      ...more,
    )(target, name, descriptor);
  };

/** The permission that a route or field needs in its project; without a project in its address, in each project that it lists. */
export const Permit = (permission: Permission, options: Pick<Rule, 'creates'> = {}): MethodDecorator =>
  rule({ permission, ...options }, ApiBearerAuth(), ApiExtension('x-permission', permission));

/** Open to everybody: reveals nothing of any record. */
export const Open = (): MethodDecorator => rule({});

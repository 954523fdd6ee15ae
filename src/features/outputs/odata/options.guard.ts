import { type CanActivate, type ExecutionContext, Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { notCarriedOut } from './refusals.js';

/** Query options of OData that the feed does not have, on any of its routes (OData 4.0 Part 1, section 9.3.1). */
const NOT_HERE = [
  '$apply',
  '$compute',
  '$expand',
  '$search',
  '$index',
  '$schemaversion',
  '$deltatoken',
  '$levels',
  '$id',
];

/** What OData has and the feed does not is answered 501, not as an unknown parameter. */
@Injectable()
export class OptionsGuard implements CanActivate {
  canActivate(context: ExecutionContext): boolean {
    const query = context.switchToHttp().getRequest<FastifyRequest>().query as Record<string, unknown>;
    const name = NOT_HERE.find((each) => Object.hasOwn(query, each));
    if (name !== undefined) throw notCarriedOut(`the query option ${name}`);
    return true;
  }
}

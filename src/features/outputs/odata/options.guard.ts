import { type CanActivate, type ExecutionContext, Injectable } from '@nestjs/common';
import type { FastifyRequest } from 'fastify';
import { ProblemError } from '../../../common/api/problem.js';
import { notCarriedOut } from './refusals.js';

/** OData query options that no route of the feed supports (OData 4.0 Part 1, section 9.3.1). */
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

/** OData features that the feed does not support are answered 501, not as unknown parameters; clients of an earlier version are refused. */
@Injectable()
export class OptionsGuard implements CanActivate {
  canActivate(context: ExecutionContext): boolean {
    const { headers, query } = context.switchToHttp().getRequest<FastifyRequest>();
    const most = [headers['odata-maxversion']].flat()[0];
    if (most !== undefined && !/^(4\.|[5-9])/.test(most))
      throw new ProblemError(
        'malformed',
        `OData-MaxVersion is ${JSON.stringify(most.slice(0, 20))}; the feed answers OData 4.0.`,
      );
    const name = NOT_HERE.find((each) => Object.hasOwn(query as object, each));
    if (name !== undefined) throw notCarriedOut(`the query option ${name}`);
    return true;
  }
}

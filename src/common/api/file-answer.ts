import { applyDecorators } from '@nestjs/common';
import { ApiExtraModels, ApiOperation, ApiResponse, getSchemaPath } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { ProblemAnswer } from './problem.model.js';

/** What a route does that answers a file, for the OpenAPI document. */
export const FileAnswer = (summary: string, contentType: string): MethodDecorator =>
  applyDecorators(
    ApiOperation({ summary }),
    ApiResponse({
      status: 200,
      description: summary,
      content: { [contentType]: { schema: { type: 'string', format: 'binary' } } },
    }),
    ApiExtraModels(ProblemAnswer),
    ApiResponse({
      status: 'default',
      description: 'Problem (RFC 9457)',
      content: { 'application/problem+json': { schema: { $ref: getSchemaPath(ProblemAnswer) } } },
    }),
  );

/** Says what the file is and how it is called when it is saved; `name` holds codes, dots and hyphens only. */
export const tellFile = (reply: FastifyReply, contentType: string, name: string): void => {
  void reply
    .header('content-type', contentType)
    .header('content-disposition', `attachment; filename="${name}"`);
};

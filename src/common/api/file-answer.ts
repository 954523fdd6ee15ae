import { applyDecorators } from '@nestjs/common';
import { ApiOperation, ApiResponse } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { headerReference } from './openapi-headers.js';

/** What a route does that answers a file, for the OpenAPI document. */
export const FileAnswer = (summary: string, contentType: string): MethodDecorator =>
  applyDecorators(
    ApiOperation({ summary }),
    ApiResponse({
      status: 200,
      description: summary,
      headers: { 'Content-Disposition': headerReference('Content-Disposition') },
      content: { [contentType]: { schema: { type: 'string', format: 'binary' } } },
    }),
  );

/** Says what the file is and how it is called when it is saved; `name` holds codes, dots and hyphens only. */
export const tellFile = (
  reply: FastifyReply,
  contentType: string,
  name: string,
  place: 'attachment' | 'inline' = 'attachment',
): void => {
  void reply
    .header('content-type', contentType)
    .header('content-disposition', `${place}; filename="${name}"`);
};

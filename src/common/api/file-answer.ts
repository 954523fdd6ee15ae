import type { Readable } from 'node:stream';
import { applyDecorators, StreamableFile } from '@nestjs/common';
import { ApiOperation, ApiResponse } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { headerReference } from './openapi-headers.js';
import { conditionsOf, isKnown } from './precondition.js';

/** Describes a route that answers a file, for the OpenAPI document. */
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

/** Sets the file's content type and download name; `name` may hold codes, dots and hyphens only. */
export const setFileHeaders = (
  reply: FastifyReply,
  contentType: string,
  name: string,
  place: 'attachment' | 'inline' = 'attachment',
): void => {
  void reply
    .header('content-type', contentType)
    .header('content-disposition', `${place}; filename="${name}"`);
};

/** Downloaded, never displayed as a page of this service, and revalidated each time. */
const GUARDED = {
  'content-security-policy': `default-src 'none'; sandbox`,
  'x-content-type-options': 'nosniff',
  'cache-control': 'private, no-cache',
};

/** A stored file, as it is answered. */
export interface KeptFile {
  /** SHA-256 of its bytes; also its entity tag. */
  digest: string;
  /** Content-Disposition. */
  disposition: string;
  type: string;
  bytes: number;
  open(): Promise<Readable>;
}

/** Answers the bytes of a file, or 304 to a client that already has them. */
export const answerKeptFile = async (
  request: FastifyRequest,
  reply: FastifyReply,
  { digest, disposition, type, bytes, open }: KeptFile,
): Promise<StreamableFile | undefined> => {
  const etag = `"${digest}"`;
  if (isKnown(conditionsOf(request), etag)) {
    void reply.status(304).header('etag', etag).headers(GUARDED);
    return undefined;
  }
  const content = await open();
  void reply.headers({ ...GUARDED, etag, 'content-disposition': disposition });
  return new StreamableFile(content, { type, length: bytes });
};

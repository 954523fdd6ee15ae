import type { Readable } from 'node:stream';
import { applyDecorators, StreamableFile } from '@nestjs/common';
import { ApiOperation, ApiResponse } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { headerReference } from './openapi-headers.js';
import { conditionsOf, isKnown } from './precondition.js';

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

/** Saved, never shown as a page of this service, and asked for again each time. */
const GUARDED = {
  'content-security-policy': `default-src 'none'; sandbox`,
  'x-content-type-options': 'nosniff',
  'cache-control': 'private, no-cache',
};

/** A file that is kept, as it is answered. */
export interface KeptFile {
  /** SHA-256 of its bytes, which is its entity tag. */
  digest: string;
  /** Content-Disposition. */
  disposition: string;
  type: string;
  bytes: number;
  open(): Promise<Readable>;
}

/** Answers the bytes of a file, or 304 to whoever has them. */
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

import fastifyMultipart from '@fastify/multipart';
import { applyDecorators } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import { ApiConsumes } from '@nestjs/swagger';
import type { FastifyInstance, FastifyRequest } from 'fastify';
import { JSON_TYPE } from './content-types.js';
import { faulty, ProblemError } from './problem.js';
import './streamed.js';

declare module 'fastify' {
  interface FastifyContextConfig {
    /** The route takes multipart/form-data, and nothing else. */
    multipart?: boolean;
  }
}

/** Largest file and largest field of a form; larger ones are refused by the name of the part. */
const FILE_LIMIT_BYTES = 20 * 1024 * 1024;
export const FIELD_LIMIT_BYTES = 64 * 1024;

/** Headers of each part: two or three short ones. */
export const HEADER_LIMITS = { headerPairs: 20, headerSize: 8 * 1024 };

const LIMITS = {
  fileSize: FILE_LIMIT_BYTES,
  fieldSize: FIELD_LIMIT_BYTES,
  files: 2, // a field may be sent as a file too
  fields: 20,
  parts: 24,
  ...HEADER_LIMITS,
};

/** RFC 2046, section 5.1.1 */
const BOUNDARY = /;\s*boundary=("[^"]+"|[^\s;"]+)/i;

/** The route takes a form: its body is an object of the parts, with files as Buffers and fields as text. */
export const Multipart = (): MethodDecorator =>
  applyDecorators(RouteConfig({ multipart: true }), ApiConsumes('multipart/form-data'));

const tooLarge = (part: string, limit: string): ProblemError =>
  faulty('too_large', [{ in: 'body', pointer: `/${part}`, detail: `${part} is larger than ${limit}` }]);

export const fieldTooLarge = (part: string): ProblemError => tooLarge(part, `${FIELD_LIMIT_BYTES / 1024} KB`);

export const givenTwice = (part: string): ProblemError =>
  faulty('invalid', [{ in: 'body', pointer: `/${part}`, detail: `${part} is given twice` }]);

/**
 * The text of a field. A field declared as JSON has been parsed; the form keeps fields as text.
 * @throws ProblemError invalid for JSON that is nested too deep to be written again
 */
export const fieldText = (part: string, value: unknown): string => {
  if (typeof value === 'string') return value;
  try {
    return JSON.stringify(value);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw faulty('invalid', [
      { in: 'body', pointer: `/${part}`, detail: `${part} is JSON that is nested too deep` },
    ]);
  }
};

/** Limits of @fastify/multipart, whose own words say little to a sender. */
const TOO_MANY: Record<string, string> = {
  FST_PARTS_LIMIT: 'parts',
  FST_FILES_LIMIT: 'files',
  FST_FIELDS_LIMIT: 'fields',
};

/** The problem that reports an unreadable form; errors that are already problems stay. */
export const unreadableForm = (error: unknown): unknown => {
  const { statusCode, code } = error as { statusCode?: unknown; code?: unknown };
  const tooMany = typeof code === 'string' ? TOO_MANY[code] : undefined;
  if (tooMany !== undefined)
    return new ProblemError('too_large', `The form has more ${tooMany} than this address reads.`);
  // @fastify/multipart answers 406 for a field declared as JSON that is not.
  if (statusCode === 406)
    return new ProblemError('malformed', `The form cannot be read: ${(error as Error).message}`);
  return error instanceof ProblemError || typeof statusCode === 'number'
    ? error
    : new ProblemError('malformed', `The form cannot be read: ${(error as Error).message}`);
};

/** Reads to the end even when a part is refused: an earlier answer would break the sender's connection. */
const readForm = async (request: FastifyRequest): Promise<Record<string, unknown>> => {
  const form = new Map<string, unknown>();
  let refused: ProblemError | undefined;
  for await (const part of request.parts()) {
    const { fieldname } = part;
    if (form.has(fieldname)) refused ??= givenTwice(fieldname);
    if (part.type === 'file') {
      const buffer = await part.toBuffer();
      if (part.file.truncated) refused ??= tooLarge(fieldname, `${FILE_LIMIT_BYTES / 1024 / 1024} MB`);
      form.set(fieldname, buffer);
    } else {
      if (part.valueTruncated) refused ??= fieldTooLarge(fieldname);
      form.set(fieldname, fieldText(fieldname, part.value));
    }
  }
  if (refused) throw refused;
  return Object.fromEntries(form);
};

/** Reads forms on the routes that take them; other routes refuse them like any unknown content. */
export const readMultipartBodies = (fastify: FastifyInstance): void => {
  void fastify.register(fastifyMultipart, { limits: LIMITS, throwFileSizeLimit: false });
  fastify.addHook('onRequest', (request, _reply, done) => {
    const contentType = request.headers['content-type'] ?? '';
    const sent = /^multipart\/form-data\b/i.test(contentType);
    const { streamed, multipart } = request.routeOptions.config ?? {};
    const taken = multipart === true;
    if (sent && (taken || streamed === true) && !BOUNDARY.test(contentType))
      done(new ProblemError('unsupported_media_type', 'The Content-Type of the form names no boundary.'));
    else if (sent === taken || streamed === true)
      done(); // a streaming route reads the body itself
    else
      done(
        new ProblemError(
          'unsupported_media_type',
          taken
            ? 'This address accepts multipart/form-data only.'
            : `This address accepts ${JSON_TYPE}, not multipart/form-data.`,
        ),
      );
  });
  fastify.addHook('preValidation', async (request) => {
    if (!request.isMultipart() || request.routeOptions.config?.streamed === true) return;
    try {
      request.body = await readForm(request);
    } catch (error) {
      throw unreadableForm(error);
    }
  });
};

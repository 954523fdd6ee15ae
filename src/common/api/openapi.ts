import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { DocumentBuilder, type OpenAPIObject, SwaggerModule } from '@nestjs/swagger';
import { withCommon } from './openapi-common.js';

type Schema = Record<string, unknown>;

const orNull = (schema: Schema): Schema => {
  const { type, enum: values } = schema;
  if (typeof type !== 'string') return { anyOf: [schema, { type: 'null' }] };
  return {
    ...schema,
    type: [type, 'null'],
    ...(Array.isArray(values) ? { enum: [...(values as unknown[]), null] } : {}),
  };
};

/** What is optional may be null, in what is sent and in what is answered; OpenAPI 3.1 says so by the type. */
const withNulls = (document: OpenAPIObject): OpenAPIObject => {
  for (const schema of Object.values(document.components?.schemas ?? {}) as Schema[]) {
    const required = (schema['required'] ?? []) as string[];
    const properties = (schema['properties'] ?? {}) as Record<string, Schema>;
    for (const [name, property] of Object.entries(properties))
      if (!required.includes(name)) properties[name] = orNull(property);
  }
  return document;
};

const makeDocument = (app: NestFastifyApplication): OpenAPIObject => {
  const head = new DocumentBuilder()
    .setOpenAPIVersion('3.1.1')
    .setTitle('Drivebook')
    .setDescription(
      'The book of record of a hard-rock gripper-TBM drive. Errors are RFC 9457 problems with a pointer to each field.',
    )
    .setVersion('1')
    .addBearerAuth({ type: 'http', scheme: 'bearer', description: 'Access token or API key' })
    .build();
  return withCommon(withNulls(SwaggerModule.createDocument(app, head)));
};

const made = new WeakMap<NestFastifyApplication, OpenAPIObject>();

/** The OpenAPI document of all routes. To make it takes some tenths of a second: a service does so before it serves. */
export const openApiOf = (app: NestFastifyApplication): OpenAPIObject => {
  const document = made.get(app) ?? makeDocument(app);
  made.set(app, document);
  return document;
};

const OPENAPI_PATH = '/v1/openapi.json';

/** Serves the document at /v1/openapi.json and its pages at /docs. */
export const serveOpenApi = (app: NestFastifyApplication): void => {
  SwaggerModule.setup('docs', app, () => openApiOf(app), { jsonDocumentUrl: OPENAPI_PATH });
};

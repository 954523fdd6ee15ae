import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { DocumentBuilder, type OpenAPIObject, SwaggerModule } from '@nestjs/swagger';

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

const AS_OF = {
  name: 'asOf',
  in: 'query',
  required: false,
  description: 'Answers as the record stood at this moment; now when absent',
  schema: { type: 'string', format: 'date-time' },
} as const;

const REASON = {
  name: 'X-Reason',
  in: 'header',
  required: false,
  description: 'Why, for the history; percent-encoded UTF-8, to 500 characters',
  schema: { type: 'string' },
} as const;

const IDEMPOTENCY_KEY = {
  name: 'Idempotency-Key',
  in: 'header',
  required: false,
  description:
    'A string of the caller’s own in double quotes, of 1 to 255 characters, kept for a day: the same request sent again with it is answered as the first time and not carried out again. Another request under the key: 422; while the first is in progress: 409. A streamed upload is known by its content instead',
  schema: { type: 'string', examples: ['"8e03978e-40d5-43e8-bc93-6894a57f9324"'] },
} as const;

/** What every route of a record takes, whichever it is: a reading the moment asked of, a write its reason, one that is not safe to repeat its key. */
const withCommon = (document: OpenAPIObject): OpenAPIObject => {
  for (const [path, { get, put, post, delete: remove }] of Object.entries(document.paths)) {
    if (!path.startsWith('/v1/projects')) continue;
    get?.parameters?.push(AS_OF);
    for (const write of [put, post, remove]) write?.parameters?.push(REASON);
    post?.parameters?.push(IDEMPOTENCY_KEY);
  }
  return document;
};

/** The OpenAPI document of all routes. */
export const openApiOf = (app: NestFastifyApplication): OpenAPIObject => {
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

const OPENAPI_PATH = '/v1/openapi.json';

/** Serves the document at /v1/openapi.json and its pages at /docs. */
export const serveOpenApi = (app: NestFastifyApplication): void => {
  SwaggerModule.setup('docs', app, () => openApiOf(app), { jsonDocumentUrl: OPENAPI_PATH });
};

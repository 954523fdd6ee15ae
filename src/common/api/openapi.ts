import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { DocumentBuilder, type OpenAPIObject, SwaggerModule } from '@nestjs/swagger';
import { withCommon } from './openapi-common.js';
import { withExamples } from './openapi-examples.js';
import { divideSchemas } from './openapi-schemas.js';
import { ProblemAnswer } from './problem.model.js';

const INFO = {
  contact: { name: 'Drivebook' },
  license: { name: 'All rights reserved', identifier: 'LicenseRef-All-rights-reserved' },
};

const makeDocument = (app: NestFastifyApplication): OpenAPIObject => {
  const head = new DocumentBuilder()
    .setOpenAPIVersion('3.1.1')
    .setTitle('Drivebook')
    .setDescription(
      'The book of record of a hard-rock gripper-TBM drive. Errors are RFC 9457 problems with a pointer to each field. ' +
        'An answer has every property of its schema, null where there is no value. In a body, optional properties may be omitted, or null as they were answered. ' +
        'The examples are invented, and can be sent as they are to a new installation, in the order of `x-story`, each by the person it names.',
    )
    .setVersion('1')
    .addServer('/', 'The service that answers this')
    .addBearerAuth({ type: 'http', scheme: 'bearer', description: 'Access token or API key' })
    .build();
  const document = SwaggerModule.createDocument(app, head, { extraModels: [ProblemAnswer] });
  return withExamples(withCommon(divideSchemas({ ...document, info: { ...document.info, ...INFO } })));
};

const made = new WeakMap<NestFastifyApplication, OpenAPIObject>();

/** The OpenAPI document of all routes. It takes some tenths of a second to make, so a service makes it at start-up. */
export const openApiOf = (app: NestFastifyApplication): OpenAPIObject => {
  const document = made.get(app) ?? makeDocument(app);
  made.set(app, document);
  return document;
};

const OPENAPI_PATH = '/v1/openapi.json';

/** Serves the document at /v1/openapi.json and its pages at /docs. */
export const serveOpenApi = (app: NestFastifyApplication): void => {
  SwaggerModule.setup('docs', app, () => openApiOf(app), {
    jsonDocumentUrl: OPENAPI_PATH,
    swaggerOptions: { filter: true }, // filters by tag: there are many
  });
};

import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import { DocumentBuilder, type OpenAPIObject, SwaggerModule } from '@nestjs/swagger';

/** The OpenAPI document of all routes. */
export const openApiOf = (app: NestFastifyApplication): OpenAPIObject => {
  const head = new DocumentBuilder()
    .setOpenAPIVersion('3.1.1')
    .setTitle('Drivebook')
    .setDescription(
      'The book of record of a hard-rock gripper-TBM drive. Errors are RFC 9457 problems with a pointer to each field.',
    )
    .setVersion('1')
    .build();
  return SwaggerModule.createDocument(app, head);
};

/** Serves the document at /v1/openapi.json and its pages at /docs. */
export const serveOpenApi = (app: NestFastifyApplication): void => {
  SwaggerModule.setup('docs', app, () => openApiOf(app), { jsonDocumentUrl: 'v1/openapi.json' });
};

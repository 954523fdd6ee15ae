import { GraphQLSchemaFactory } from '@nestjs/graphql';
import { SwaggerModule } from '@nestjs/swagger';

// Each application builds its GraphQL schema from the same classes, a third of its start-up cost. Here it is built once per worker, and so is the
// OpenAPI document. An application puts its own resolvers into the schema and continues with a sorted copy (`sortSchema`), so that two share none;
// only one application may be between the two steps at a time, which `oneAtATime` ensures.

type Create = (...args: unknown[]) => Promise<object>;

const factory = GraphQLSchemaFactory.prototype as unknown as { create: Create };
const create = factory.create;
let built: Promise<object> | undefined;

factory.create = function (this: unknown, ...args) {
  return (built ??= create.apply(this, args));
};

let last: Promise<unknown> = Promise.resolve();

/** Starts one application after the other. */
export const oneAtATime = <T>(start: () => Promise<T>): Promise<T> => {
  const started = last.then(start);
  last = started.catch(() => undefined);
  return started;
};

const { createDocument } = SwaggerModule;
let document: ReturnType<typeof createDocument> | undefined;

SwaggerModule.createDocument = (...args) =>
  structuredClone((document ??= createDocument.apply(SwaggerModule, args)));

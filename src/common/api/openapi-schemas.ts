import type { OpenAPIObject } from '@nestjs/swagger';
import { operationsOf } from './openapi-names.js';

/** A JSON schema, whatever its keywords. */
export type Schema = Record<string, unknown>;

type Schemas = Record<string, Schema>;

const BASE = '#/components/schemas/';

const nameOf = (reference: unknown): string => String(reference).slice(BASE.length);

/** Calls back for each reference under a value; the result of the callback, if any, replaces the reference. */
const eachReference = (value: unknown, visit: (name: string) => string | undefined): void => {
  if (typeof value !== 'object' || value === null) return;
  const { $ref } = value as Schema;
  if (typeof $ref === 'string' && $ref.startsWith(BASE)) {
    const other = visit(nameOf($ref));
    if (other !== undefined) (value as Schema)['$ref'] = BASE + other;
  }
  for (const part of Object.values(value)) eachReference(part, visit);
};

/** The names of all schemas reachable from a value. */
const reachedFrom = (value: unknown, schemas: Schemas, found = new Set<string>()): Set<string> => {
  eachReference(value, (name) => {
    if (!found.has(name)) reachedFrom(schemas[name], schemas, found.add(name));
    return undefined;
  });
  return found;
};

const propertiesOf = ({ properties }: Schema): Schemas => (properties ?? {}) as Schemas;

const requiredOf = ({ required }: Schema): string[] => (required ?? []) as string[];

const orNull = ({ description, ...schema }: Schema): Schema => {
  const { type, enum: values } = schema;
  const said = description === undefined ? {} : { description };
  if (typeof type !== 'string') {
    const { allOf } = schema;
    const only = Array.isArray(allOf) && allOf.length === 1 ? (allOf[0] as Schema) : schema;
    return { ...said, anyOf: [only, { type: 'null' }] };
  }
  return {
    ...said,
    ...schema,
    type: [type, 'null'],
    ...(Array.isArray(values) ? { enum: [...(values as unknown[]), null] } : {}),
  };
};

const takesNull = ({ type, anyOf }: Schema): boolean =>
  (Array.isArray(type) && type.includes('null')) ||
  (Array.isArray(anyOf) && (anyOf as Schema[]).some((each) => each['type'] === 'null'));

/** Keywords that limit input. They promise nothing about answers: a sum may exceed the limit of its parts. */
const LIMITS = ['minimum', 'maximum', 'minItems', 'maxItems', 'minLength', 'maxLength', 'default'];

const ANSWERED_DECIMAL = '^-?\\d+(\\.\\d+)?$';

/** A property of an answer: its type, without the limits on input. */
const answered = (property: Schema): Schema => {
  const plain = Object.fromEntries(Object.entries(property).filter(([key]) => !LIMITS.includes(key)));
  const { items, format } = plain;
  if (format === 'decimal') plain['pattern'] = ANSWERED_DECIMAL;
  if (items) plain['items'] = answered(items as Schema);
  return plain;
};

/** An answer contains every property; optional ones may be null. */
const asAnswer = (schema: Schema): void => {
  const properties = propertiesOf(schema);
  const required = requiredOf(schema);
  for (const [name, property] of Object.entries(properties)) {
    const isGiven = required.includes(name) || property['default'] !== undefined;
    properties[name] = isGiven ? answered(property) : orNull(answered(property));
  }
  if (Object.keys(properties).length > 0) schema['required'] = Object.keys(properties);
};

/** The schema of a property, or of its elements; undefined: not one of ours. */
const innerName = (property: Schema | undefined): string | undefined => {
  let name: string | undefined;
  eachReference(property, (found) => {
    name ??= found;
    return undefined;
  });
  return name;
};

/**
 * A body may have null for an optional property where its resource answers null: a client that creates the record leaves it out,
 * while a client that puts back what it read sends null.
 */
const takeBack = (body: string, answer: string, schemas: Schemas, seen = new Set<string>()): void => {
  if (seen.has(body)) return;
  seen.add(body);
  const [own, theirs] = [schemas[body], schemas[answer]];
  if (!own || !theirs) return;
  const properties = propertiesOf(own);
  for (const [name, property] of Object.entries(properties)) {
    const twin = propertiesOf(theirs)[name];
    if (!twin) continue;
    const [inner, innerTwin] = [innerName(property), innerName(twin)];
    if (inner !== undefined && innerTwin !== undefined) takeBack(inner, innerTwin, schemas, seen);
    if (!requiredOf(own).includes(name) && takesNull(twin) && !takesNull(property))
      properties[name] = orNull(property);
  }
};

const jsonOf = (holder: unknown): unknown =>
  (holder as { content?: Record<string, { schema?: unknown }> } | undefined)?.content?.['application/json']
    ?.schema;

/** Gives input its own schema: the class may be that of the answer, but input may leave out properties that the answer has. */
const divide = (document: OpenAPIObject, schemas: Schemas): void => {
  const all = operationsOf(document.paths);
  const sent = reachedFrom(
    all.map(({ operation }) => operation.requestBody),
    schemas,
  );
  const isAnswered = reachedFrom(
    all.map(({ operation }) => operation.responses),
    schemas,
  );
  const both = [...sent].filter((name) => isAnswered.has(name) && schemas[name]?.['properties']);
  const input = (name: string): string | undefined => (both.includes(name) ? `${name}Input` : undefined);
  for (const name of both) {
    const twin = `${name}Input`;
    if (schemas[twin]) throw new Error(`A schema ${twin} is in the way of what is sent as ${name}.`);
    schemas[twin] = structuredClone(schemas[name] ?? {});
  }
  for (const name of sent) eachReference(schemas[input(name) ?? name], input);
  for (const { operation } of all) eachReference(operation.requestBody, input);
  for (const name of isAnswered) if (!KEPT.includes(name)) asAnswer(schemas[name] ?? {});
  for (const name of sent) omitEmpty(schemas[input(name) ?? name] ?? {});
};

/** Generated clients would require a list that has a default: it is optional, and empty if left out. */
const omitEmpty = (schema: Schema): void => {
  for (const property of Object.values(propertiesOf(schema)))
    if (Array.isArray(property['default']) && property['default'].length === 0) delete property['default'];
};

/** Schemas that declare their optional properties themselves. */
const KEPT = ['ProblemAnswer', 'FaultAnswer'];

/** Separate schemas for input and for answers. */
export const divideSchemas = (document: OpenAPIObject): OpenAPIObject => {
  const schemas = (document.components?.schemas ?? {}) as Schemas;
  divide(document, schemas);
  for (const { get, put } of Object.values(document.paths)) {
    const [body, answer] = [
      innerName({ is: jsonOf(put?.requestBody) }),
      innerName({ is: jsonOf(get?.responses['200']) }),
    ];
    if (body !== undefined && answer !== undefined) takeBack(body, answer, schemas);
  }
  return document;
};

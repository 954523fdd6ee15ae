import type { OpenAPIObject } from '@nestjs/swagger';
import { ASKED, KEYS, keysOf, type Keys } from './examples/asked.js';
import { JSON_TYPE, type Step } from './examples/step.js';
import { WITH_REMOVALS } from './examples/story.js';
import { operationsOf } from './openapi-names.js';
import type { Schema } from './openapi-schemas.js';

type Operation = NonNullable<OpenAPIObject['paths'][string]['get']>;
type Parameter = Extract<NonNullable<Operation['parameters']>[number], { name: string }>;

/** The example's name where an operation has only one. */
const ONLY = 'invented';

/** A step of the story with the name of its example in its operation. */
interface Named {
  step: Step;
  name: string;
}

const ownName = ({ type, keys, method, ofVersion }: Step): string => {
  const form = type === JSON_TYPE ? [] : type.split('/').slice(1);
  const next = method === 'put' && ofVersion ? ['next'] : [];
  return [...Object.values(keys), ...form, ...next].join('-') || ONLY;
};

/** Names for several examples of an operation, each after its subject. */
const namesOf = (steps: Step[]): Named[] => {
  const isOne = new Set(steps.map(ownName)).size === 1;
  return steps.map((step) => ({ step, name: isOne ? ONLY : ownName(step) }));
};

type Schemas = Record<string, Schema>;

/** One of the allowed values, where they are listed. */
const listed = (schema: Schema, schemas: Schemas): unknown => {
  const { $ref, enum: values } = schema;
  if (typeof $ref === 'string') return listed(schemas[$ref.split('/').at(-1) ?? ''] ?? {}, schemas);
  return Array.isArray(values) ? (values[0] as unknown) : undefined;
};

const askedOf = ({ name, schema }: Parameter, schemas: Schemas): unknown => {
  const { format, type } = (schema ?? {}) as Schema;
  return (
    ASKED[`${name}:${String(format ?? type)}`] ?? ASKED[name] ?? listed((schema ?? {}) as Schema, schemas)
  );
};

const isInteger = ({ schema }: Parameter): boolean => ((schema ?? {}) as Schema)['type'] === 'integer';

const keyExample = (parameter: Parameter, keys: Keys): unknown =>
  isInteger(parameter) ? Number(keys[parameter.name]) : keys[parameter.name];

/** The keys of each step under its name; listed once where all steps share them. */
const showKey = (parameter: Parameter, path: string, steps: Named[]): void => {
  const values = new Map(
    steps.map(({ name, step }) => [name, keyExample(parameter, { ...KEYS, ...step.keys })]),
  );
  if (new Set(values.values()).size > 1)
    parameter.examples = Object.fromEntries([...values].map(([name, value]) => [name, { value }]));
  else parameter.example = [...values.values()][0] ?? keyExample(parameter, keysOf(path));
};

const showParameters = (operation: Operation, path: string, steps: Named[], schemas: Schemas): void => {
  for (const parameter of operation.parameters ?? []) {
    if (!('name' in parameter)) continue;
    if (parameter.in === 'path') showKey(parameter, path, steps);
    if (parameter.in === 'query') parameter.example = askedOf(parameter, schemas);
  }
};

const showBodies = ({ requestBody }: Operation, steps: Named[]): void => {
  if (!requestBody || '$ref' in requestBody) return;
  for (const { name, step } of steps) {
    const media = requestBody.content[step.type];
    if (media)
      media.examples = {
        ...media.examples,
        [name]: { summary: `Invented; sent by ${step.as}`, value: step.body },
      };
  }
};

/** The address at which the target of a step is read. */
const readOf = ({ method, path }: Step): string =>
  method !== 'post' ? path : path.slice(0, path.lastIndexOf('/'));

/**
 * Adds examples that can be sent as they are, in the order of `x-story`. Each entry names the example of its operation, with the
 * same name in the body and in the parameters that differ, its sender, and what to read first where `If-Match` must name the version.
 */
export const withExamples = (document: OpenAPIObject): OpenAPIObject => {
  const schemas = (document.components?.schemas ?? {}) as Schemas;
  const reported: { step: Step; operationId: string | undefined; example: string }[] = [];
  for (const { path, method, operation } of operationsOf(document.paths)) {
    const steps = namesOf(WITH_REMOVALS.filter((step) => step.path === path && step.method === method));
    showParameters(operation, path, steps, schemas);
    showBodies(operation, steps);
    reported.push(
      ...steps.map(({ step, name }) => ({ step, operationId: operation.operationId, example: name })),
    );
  }
  const story = WITH_REMOVALS.flatMap((each) =>
    reported
      .filter(({ step }) => step === each)
      .map(({ operationId, example }) => ({
        operationId,
        example,
        as: each.as,
        ...(each.ofVersion && { ifMatchOf: document.paths[readOf(each)]?.get?.operationId }),
      })),
  );
  return { ...document, 'x-story': story } as OpenAPIObject;
};

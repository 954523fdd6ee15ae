import {
  type DocumentNode,
  getVariableValues,
  type GraphQLSchema,
  Kind,
  type OperationDefinitionNode,
  OperationTypeNode,
} from 'graphql';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { signalOf } from '../auth/gone.js';
import type { Config } from '../config/config.js';
import { SharedReading } from '../database/shared-reading.js';
import { Turns } from '../work/turns.js';
import { databaseCost } from './graphql-places.js';
import { type Variables, weigh } from './graphql-cost.js';
import { escaped, faulty, MOST_FAULTS, ProblemError } from './problem.js';

/** Number of parsed queries cached; with their documents they take some 100 MB at most. */
export const KEPT_QUERIES = 100;
export const MAX_TOKENS = 2000;
const MAX_LENGTH = 40_000;
const MAX_DEPTH = 16; // the introspection query of graphql-js has 15

const figure = (value: number): string => value.toLocaleString('en');

const isJson = (text: string): boolean => {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
};

/** Mercurius also accepts a parsed query as JSON, which would bypass the limits of the parser. */
export const refuseUnreadable = (source: string): void => {
  if (source.length > MAX_LENGTH)
    throw new ProblemError(
      'invalid',
      `The query has ${figure(source.length)} characters and the limit is ${figure(MAX_LENGTH)}: send values as variables.`,
    );
  if (isJson(source)) throw new ProblemError('malformed', 'The query must be GraphQL, not JSON.');
};

type Limits = Pick<Config, 'graphqlMaxCost' | 'graphqlMaxAliases'>;

/** @throws ProblemError invalid when an operation of the document exceeds a limit */
export const refuseCostly = (
  { graphqlMaxCost, graphqlMaxAliases }: Limits,
  schema: GraphQLSchema,
  document: DocumentNode,
  operations: readonly OperationDefinitionNode[],
  variables: Variables | null | undefined,
): void => {
  const refuse = (detail: string): never => {
    throw new ProblemError('invalid', detail);
  };
  for (const operation of operations) {
    const { cost, aliases, depth } = weigh(schema, document, operation, variables ?? {});
    if (depth > MAX_DEPTH) refuse(`The query is ${figure(depth)} levels deep and the limit is ${MAX_DEPTH}.`);
    if (aliases > graphqlMaxAliases)
      refuse(`The query has ${figure(aliases)} aliases and the limit is ${figure(graphqlMaxAliases)}.`);
    if (cost > graphqlMaxCost)
      refuse(
        `The query costs ${figure(cost)} and the limit is ${figure(graphqlMaxCost)}: ask for fewer fields or smaller pages.`,
      );
  }
};

/**
 * GraphQL would silently ignore a variable that no operation of the document declares.
 * @throws ProblemError malformed, naming each
 */
export const refuseUndeclared = (
  operations: readonly OperationDefinitionNode[],
  variables: Variables | null | undefined,
): void => {
  const declared = operations.flatMap(({ variableDefinitions = [] }) =>
    variableDefinitions.map(({ variable }) => variable.name.value),
  );
  const unknown = Object.keys(variables ?? {}).filter((name) => !declared.includes(name));
  if (unknown.length === 0) return;
  const allowed =
    declared.length === 0
      ? 'it declares none'
      : `it declares ${[...new Set(declared)].map((name) => `$${name}`).join(', ')}`;
  throw faulty(
    'malformed',
    unknown.slice(0, MOST_FAULTS).map((name) => ({
      in: 'body',
      pointer: `/variables/${escaped(name)}`,
      value: variables?.[name],
      detail: `unknown variable ${JSON.stringify(`$${name}`)} of the operation: ${allowed}`,
    })),
  );
};

/** The limit of graphql-js itself. */
const MOST_VARIABLE_ERRORS = 50;

/**
 * Checks the variables before a compiled query does: that would collect every fault, and thousands of them block the event
 * loop for seconds.
 */
const refuseVariables = (
  schema: GraphQLSchema,
  { variableDefinitions = [] }: OperationDefinitionNode,
  variables: Variables | null | undefined,
): void => {
  const limits = { maxErrors: MOST_VARIABLE_ERRORS };
  const { errors } = getVariableValues(schema, variableDefinitions, variables ?? {}, limits);
  if (errors) throw Object.assign(new Error('The variables do not fit the query.'), { errors });
};

export const operationsOf = ({ definitions }: DocumentNode): OperationDefinitionNode[] =>
  definitions.filter((definition) => definition.kind === Kind.OPERATION_DEFINITION);

/** @throws ProblemError malformed when the request names a missing operation, which compiled queries do not check */
const refuseUnnamed = (operations: readonly OperationDefinitionNode[], request?: FastifyRequest): void => {
  const { operationName } = (request?.body ?? {}) as { operationName?: string };
  if (operationName !== undefined && !operations.some(({ name }) => name?.value === operationName))
    throw new ProblemError(
      'malformed',
      `There is no operation ${JSON.stringify(operationName)} in the query.`,
    );
};

/** The context of an operation. */
interface Context {
  reply?: FastifyReply;
  readings?: SharedReading;
}

/** All reads of the operation see one state of the record. The reading ends with the operation, or with its connection. */
const openReading = (
  context: Context,
  schema: GraphQLSchema,
  document: DocumentNode,
  variables: Variables,
): void => {
  const cost = databaseCost(schema, document, variables);
  const readings = new SharedReading({ cost, gone: context.reply && signalOf(context.reply.raw) });
  context.readings = readings;
  context.reply?.raw.once('close', () => void readings.end());
};

/** Limits on a single query, as hooks: they run for every request, with its variables, before anything is read. */
export const graphqlLimits = (limits: Limits) => ({
  preParsing: (_schema: GraphQLSchema, source: string): void => refuseUnreadable(source),
  preExecution: async (
    schema: GraphQLSchema,
    document: DocumentNode,
    context: Context,
    variables: Variables | null | undefined,
  ): Promise<{ document?: DocumentNode }> => {
    const operations = operationsOf(document);
    refuseUnnamed(operations, context.reply?.request);
    refuseUndeclared(operations, variables);
    refuseCostly(limits, schema, document, operations, variables);
    // The answer to a mutation may contain a secret that is shown only once.
    if (operations.some(({ operation }) => operation === OperationTypeNode.MUTATION))
      void context.reply?.header('cache-control', 'no-store');
    if (operations.every(({ operation }) => operation === OperationTypeNode.SUBSCRIPTION))
      throw new ProblemError('malformed', 'Subscriptions are served over WebSocket only.');
    // Compiled queries are cached by their text: of several operations, the first to be compiled would answer for all, and a
    // GET that names a query could run the mutation beside it. A document returned from this hook is not compiled.
    const [operation] = operations;
    if (!operation || operations.length > 1) {
      openReading(context, schema, document, variables ?? {});
      return { document };
    }
    const turns = new Turns();
    refuseVariables(schema, operation, variables);
    openReading(context, schema, document, variables ?? {});
    if (turns.isOver) await turns.wait(); // before the variables are coerced again
    return {};
  },
  onResolution: async (_execution: unknown, { readings }: Context): Promise<void> => readings?.end(),
});

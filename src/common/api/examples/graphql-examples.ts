import type { OpenAPIObject } from '@nestjs/swagger';
import {
  getNamedType,
  type GraphQLArgument,
  type GraphQLField,
  type GraphQLObjectType,
  type GraphQLSchema,
  isInputObjectType,
  isLeafType,
  isObjectType,
  isRequiredArgument,
} from 'graphql';
import { operationsOf } from '../openapi-names.js';
import { ASKED, type Keys, KEYS, keysOf } from './asked.js';
import { selectionOf } from './graphql-selection.js';
import { PLACE, type Step } from './step.js';
import { WITH_REMOVALS } from './story.js';

type Field = GraphQLField<unknown, unknown>;
type Values = Record<string, unknown>;

/** What to read before an operation is sent: `reads` answers the property whose value replaces `<property>` in its variables. */
export interface Example {
  title: string;
  as: string;
  text: string;
  variables: Values;
  reads?: { property: string; text: string };
}

/** A step without a GraphQL operation: files and lines are sent by REST. */
export interface RestExample {
  title: string;
  as: string;
  operationId: string;
  example: string;
}

/** A step of `x-story` in the OpenAPI document. */
export interface StoryStep {
  operationId: string;
  example: string;
  as: string;
  ifMatchOf?: string;
}

/** Formats of query parameters in the OpenAPI document by the corresponding scalar. */
const FORMATS: Record<string, string> = {
  Chainage: 'chainage',
  Date: 'date',
  Decimal: 'decimal',
  Float: 'number',
  Instant: 'date-time',
  Int: 'integer',
  String: 'string',
};

/** Optional arguments that examples show because they narrow a query. */
const SHOWN = ['from', 'to', 'first', 'since'];

/** Values that are random or depend on other writes are read first. */
const READ_FIRST: Record<string, { argument: string; at: string[] }> = {
  removeApiKey: { argument: 'prefix', at: ['project', 'apiKeys'] },
  shiftVersion: { argument: 'change', at: ['shiftVersions'] },
};

const capital = (word: string): string => word.slice(0, 1).toUpperCase() + word.slice(1);
const indented = (lines: string[]): string[] => lines.map((line) => `  ${line}`);
const placeholder = (property: string): string => `<${property}>`;

const call = (name: string, values: string[], selection: string[]): string[] => {
  const head = values.length > 0 ? `${name}(${values.join(', ')})` : name;
  return selection.length > 0 ? [`${head} {`, ...indented(selection), '}'] : [head];
};

/** Arguments in order: where it is, which one, then what is written. */
const ordered = (args: readonly GraphQLArgument[]): GraphQLArgument[] => {
  const rank = ({ name, type }: GraphQLArgument): number => {
    if (isInputObjectType(getNamedType(type))) return 3;
    return Object.keys(PLACE).includes(name) ? Object.keys(PLACE).indexOf(name) : 2;
  };
  return args.toSorted((a, b) => rank(a) - rank(b));
};

const scalar = ({ type }: GraphQLArgument, value: unknown): unknown =>
  getNamedType(type).name === 'Int' && typeof value === 'string' && /^\d+$/.test(value)
    ? Number(value)
    : value;

/** The operation with these nested fields, and with variables for all arguments that have a value. */
const textOf = (
  kind: string,
  title: string,
  fields: Field[],
  variables: Values,
  selection: string[],
): string => {
  const given = ({ args }: Field): GraphQLArgument[] =>
    ordered(args).filter(({ name }) => variables[name] !== undefined);
  const declared = fields.flatMap(given).map(({ name, type }) => `$${name}: ${String(type)}`);
  const body = fields.reduceRight<string[]>(
    (inner, field) =>
      call(
        field.name,
        given(field).map(({ name }) => `${name}: $${name}`),
        inner,
      ),
    selection,
  );
  return call(`${kind} ${title}`, declared, body).join('\n');
};

/** Finds the path to a field of this name from the three root types of queries. */
const readerOf = (schema: GraphQLSchema, name: string): Field[] => {
  const query = schema.getQueryType()?.getFields() ?? {};
  if (query[name]) return [query[name]];
  for (const root of ['drive', 'project']) {
    const above = query[root];
    const type = above && getNamedType(above.type);
    const field = isObjectType(type) ? type.getFields()[name] : undefined;
    if (above && field) return [above, field];
  }
  return [];
};

const readingOf = (fields: Field[], values: Values, property: string): Example['reads'] => {
  const body = fields.reduceRight<string[]>(
    (inner, { name, args }) =>
      call(
        name,
        ordered(args)
          .filter((each) => isRequiredArgument(each))
          .map((each) => `${each.name}: ${JSON.stringify(values[each.name])}`),
        inner,
      ),
    [property],
  );
  return { property, text: ['{', ...indented(body), '}'].join('\n') };
};

/** GraphQL examples made from the story that the OpenAPI document also uses. */
export class GraphqlExamples {
  private readonly story: StoryStep[];
  private readonly gets: { path: string; id: string }[];

  constructor(
    document: OpenAPIObject,
    private readonly schema: GraphQLSchema,
  ) {
    this.story = (document as OpenAPIObject & { 'x-story': StoryStep[] })['x-story'];
    if (this.story.length !== WITH_REMOVALS.length) throw new Error('A step of the story is of no route.');
    this.gets = operationsOf(document.paths)
      .filter(({ method }) => method === 'get')
      .map(({ path, operation }) => ({ path, id: operation.operationId ?? '' }));
  }

  /** The steps of the story, in order, then the mutations that write what another query answered. */
  mutations(): (Example | RestExample)[] {
    const fields = this.fieldsOf(this.schema.getMutationType());
    const written = this.story.map((described, index) => {
      const step = WITH_REMOVALS[index];
      const field = fields.find(({ name }) => name === described.operationId);
      const title =
        described.example === 'invented'
          ? described.operationId
          : `${described.operationId}: ${described.example}`;
      return step && field ? this.mutation(field, step, described, title) : { ...described, title };
    });
    const rest = fields.filter(({ name }) => READ_FIRST[name]);
    return [...written, ...rest.map((field) => this.reading('mutation', [field]))];
  }

  /** Every query: the fields of Query, and the fields of their answers that read the record themselves. */
  queries(): Example[] {
    return this.fieldsOf(this.schema.getQueryType()).flatMap((field) => {
      const type = getNamedType(field.type);
      const inner = ['Project', 'Drive'].includes(type.name) && field.args.some(isRequiredArgument);
      const readings = inner && isObjectType(type) ? this.fieldsOf(type) : [];
      return [
        this.reading('query', [field]),
        ...readings
          .filter((each) => !isLeafType(getNamedType(each.type)))
          .map((each) => this.reading('query', [field, each])),
      ];
    });
  }

  subscriptions(): Example[] {
    return this.fieldsOf(this.schema.getSubscriptionType()).map((field) =>
      this.reading('subscription', [field]),
    );
  }

  private fieldsOf(type: GraphQLObjectType | null | undefined): Field[] {
    return Object.values(type?.getFields() ?? {}).sort((a, b) => (a.name < b.name ? -1 : 1));
  }

  private mutation(field: Field, step: Step, { as, ifMatchOf }: StoryStep, title: string): Example {
    const body = typeof step.body === 'object' ? (step.body as Values) : {};
    const keys: Values = { ...PLACE, ...step.keys };
    const valueOf = (argument: GraphQLArgument): unknown => {
      if (isInputObjectType(getNamedType(argument.type))) return body;
      if (argument.name === 'ifMatch' && ifMatchOf !== undefined) return placeholder('etag');
      return scalar(argument, keys[argument.name] ?? body[argument.name]);
    };
    const variables = Object.fromEntries(
      ordered(field.args)
        .map((each) => [each.name, valueOf(each)])
        .filter(([, value]) => value !== undefined),
    ) as Values;
    const example = {
      title,
      as,
      text: textOf('mutation', capital(field.name), [field], variables, selectionOf(field)),
      variables,
    };
    if (variables['ifMatch'] === undefined || ifMatchOf === undefined) return example;
    const name = ifMatchOf.replace(/^get(.)/, (_, first: string) => first.toLowerCase());
    return { ...example, reads: readingOf(readerOf(this.schema, name), variables, 'etag') };
  }

  private reading(kind: string, fields: Field[]): Example {
    const last = fields.at(-1) as Field;
    const first = READ_FIRST[last.name];
    const keys = this.keysOf(last.name);
    const variables = Object.fromEntries(
      fields
        .flatMap(({ args }) => ordered(args))
        .filter((each) => isRequiredArgument(each) || SHOWN.includes(each.name))
        .map((each) => [
          each.name,
          each.name === first?.argument ? placeholder(each.name) : this.asked(each, keys),
        ]),
    ) as Values;
    const names = fields.map(({ name }) => name);
    const example = {
      title: names.join('.'),
      as: 'owner',
      text: textOf(kind, names.map(capital).join(''), fields, variables, selectionOf(last)),
      variables,
    };
    if (!first) return example;
    const path = first.at.flatMap((each) => readerOf(this.schema, each).slice(-1));
    return { ...example, reads: readingOf(path, variables, first.argument) };
  }

  /** The keys of the REST reading of the same name. */
  private keysOf(field: string): Keys {
    const found = this.gets.find(({ id }) => id.endsWith(capital(field)));
    return found ? keysOf(found.path) : KEYS;
  }

  private asked(argument: GraphQLArgument, keys: Keys): unknown {
    const { name, type } = argument;
    const value =
      keys[name] ??
      ASKED[`${name}:${FORMATS[getNamedType(type).name] ?? ''}`] ??
      ASKED[name] ??
      WITH_REMOVALS.find((step) => step.keys[name] !== undefined)?.keys[name];
    return scalar(argument, value);
  }
}

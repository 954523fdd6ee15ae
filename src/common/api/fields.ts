import { applyDecorators } from '@nestjs/common';
import { Field, Float, Int } from '@nestjs/graphql';
import { ApiProperty, type ApiPropertyOptions } from '@nestjs/swagger';
import { Transform, Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayMinSize,
  IsArray,
  IsBoolean,
  IsDefined,
  IsIn,
  IsNumber,
  IsObject,
  IsOptional,
  Matches,
  Max,
  MaxLength,
  Min,
  ValidateNested,
} from 'class-validator';
import { KILOMETRES_AND_METRES, PLAIN_METRES } from '../../engineering/chainage.js';
import { NumberRead, WholeNumberRead } from './number-read.js';
import { ChainageScalar, DateScalar, DecimalScalar, InstantScalar, JsonScalar } from './scalars.js';
import {
  AreChainages,
  AreDecimalsBetween,
  AreOneOf,
  AreTextsUpTo,
  AreWholeBetween,
  decimalPattern,
  HasDecimals,
  IsChainage,
  IsDate,
  IsDecimalBetween,
  IsInstant,
  IsObjects,
  IsReading,
  IsText,
  IsUnique,
  IsWholeBetween,
} from './rules.js';

/** A property is declared once: these decorators give it its GraphQL field, its OpenAPI schema and its validation rules. */
export interface FieldOptions {
  /** What it is; the description of a quantity ends with its unit in brackets. */
  description: string;
  optional?: boolean;
}

/**
 * An optional property may be null, which means the same as absent. Readers of scalars allow for null; for lists and objects,
 * which are validated in depth, null is removed here.
 */
const NullIsAbsent = (): PropertyDecorator =>
  Transform(({ value }: { value: unknown }) => value ?? undefined);

type GraphqlType = Parameters<typeof Field>[0];

const field = (
  graphql: Extract<GraphqlType, () => unknown>,
  openapi: ApiPropertyOptions,
  { description, optional = false, defaultValue }: FieldOptions & { defaultValue?: [] },
  ...rules: PropertyDecorator[]
): PropertyDecorator =>
  applyDecorators(
    declared(openapi as Declared),
    Field(graphql, { description, nullable: optional, ...(defaultValue && { defaultValue }) }),
    ApiProperty({ description, required: !optional, ...openapi } as ApiPropertyOptions),
    optional ? IsOptional() : IsDefined({ message: '$property is missing' }),
    ...(optional && isWhole(openapi) ? [NullIsAbsent()] : []),
    ...rules,
  );

const DECLARED = 'drivebook:declared';

/** The declaration of a property, as far as it decides how its value is read from the database. */
export interface Declared {
  type?: unknown;
  format?: string;
  items?: { format?: string };
  isArray?: boolean;
  /** Number of decimals to which it is rounded when read. */
  roundedTo?: number;
}

const ownDeclared = (prototype: object): Map<string, Declared> =>
  (Reflect.getOwnMetadata(DECLARED, prototype) as Map<string, Declared> | undefined) ??
  new Map<string, Declared>();

const declared =
  (as: Declared): PropertyDecorator =>
  (prototype, property) => {
    const own = ownDeclared(prototype);
    own.set(String(property), { ...own.get(String(property)), ...as });
    Reflect.defineMetadata(DECLARED, own, prototype);
  };

/** The properties of a class in the order of their declaration, inherited ones first. */
export const declaredProperties = (
  type: abstract new (...args: never[]) => object,
): Map<string, Declared> => {
  const all = new Map<string, Declared>();
  const add = (prototype: object): void => {
    const parent = Object.getPrototypeOf(prototype) as object | null;
    if (parent) add(parent);
    for (const [property, as] of ownDeclared(prototype)) all.set(property, as);
  };
  add(type.prototype as object);
  return all;
};

/** Whether a property holds a list or an object. */
const isWhole = ({ type, isArray }: ApiPropertyOptions): boolean =>
  isArray === true ||
  Array.isArray(type) ||
  type === 'array' ||
  (typeof type === 'function' && !SCALARS.includes(type));

const SCALARS: unknown[] = [String, Number, Boolean];

export const TextField = ({
  maxLength = 500,
  ...options
}: FieldOptions & { maxLength?: number }): PropertyDecorator =>
  field(() => String, { type: String, maxLength }, options, IsText(), MaxLength(maxLength));

const CODE = /^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$/;
const CODE_RULE = 'must be 1 to 40 letters, digits, dots, hyphens or underscores';

/** The rule that a text breaks as a code, in words; undefined if it breaks none. */
export const codeFault = (value: unknown): string | undefined =>
  typeof value === 'string' && CODE.test(value) ? undefined : CODE_RULE;

/** A natural key, as used in addresses. */
export const CodeField = (options: FieldOptions): PropertyDecorator =>
  field(
    () => String,
    { type: String, pattern: CODE.source },
    options,
    Matches(CODE, { message: `$property ${CODE_RULE}` }),
  );

const CHAINAGE = {
  format: 'chainage',
  pattern: `${KILOMETRES_AND_METRES.source}|${PLAIN_METRES.source}`,
};

/** A list of texts of one format. */
const listOf = (form: object): ApiPropertyOptions => ({
  type: 'array',
  items: { type: 'string', ...form },
});

export const ChainageField = (options: FieldOptions): PropertyDecorator =>
  field(() => ChainageScalar, { type: String, ...CHAINAGE, example: '1+204.310' }, options, IsChainage());

/** Chainages, in order. */
export const ChainageListField = ({
  max = 1000,
  ...options
}: FieldOptions & { max?: number }): PropertyDecorator =>
  field(
    () => [ChainageScalar],
    { ...listOf(CHAINAGE), maxItems: max, example: ['1+204.310'] },
    options,
    IsArray(),
    ArrayMaxSize(max),
    AreChainages,
  );

interface Range {
  min?: number;
  max?: number;
}

const decimalForm = (min: number, decimals: number): { format: string; pattern: string } => ({
  format: 'decimal',
  pattern: decimalPattern(min, decimals),
});

const decimalExample = (min: number, max: number): string => Math.min(Math.max(1.7, min), max).toFixed(1);

/**
 * An exact decimal, such as a length or a quantity; read as a string.
 * @param rounded  whether it is rounded to these decimals when read; otherwise it is shown as stored
 */
export const DecimalField = ({
  min = 0,
  max = 999_999_999,
  decimals = 3,
  rounded = false,
  ...options
}: FieldOptions & Range & { decimals?: number; rounded?: boolean }): PropertyDecorator =>
  field(
    () => DecimalScalar,
    { type: String, ...decimalForm(min, decimals), example: decimalExample(min, max) },
    options,
    IsDecimalBetween(min, max, decimals),
    ...(rounded ? [declared({ roundedTo: decimals })] : []),
  );

/** Exact decimals, read as strings. */
export const DecimalListField = ({
  min = 0,
  max = 999_999_999,
  decimals = 3,
  most = 1000,
  ...options
}: FieldOptions & Range & { decimals?: number; most?: number }): PropertyDecorator =>
  field(
    () => [DecimalScalar],
    { ...listOf(decimalForm(min, decimals)), maxItems: most, example: [decimalExample(min, max)] },
    options,
    IsArray(),
    ArrayMaxSize(most),
    AreDecimalsBetween(min, max, decimals),
  );

/** A measured value. */
export const NumberField = ({
  min = 0,
  max = 1e9,
  decimals,
  ...options
}: FieldOptions & Range & { decimals?: number }): PropertyDecorator =>
  field(
    () => Float,
    { type: Number, minimum: min, maximum: max },
    options,
    NumberRead(),
    decimals === undefined
      ? IsNumber({}, { message: '$property must be a number' })
      : HasDecimals(
          decimals,
          `$property must be a number from ${min} to ${max} with at most ${decimals} decimals`,
        ),
    Min(min),
    Max(max),
  );

/** A mean of readings of the machine's instruments. */
export const ReadingField = (options: FieldOptions & { max: number }): PropertyDecorator =>
  applyDecorators(NumberField(options), IsReading());

/** @param cursor  whether it is the key of a list, which is text in GraphQL */
export const IntField = ({
  min = 0,
  max = 2_147_483_647,
  cursor = false,
  ...options
}: FieldOptions & Range & { cursor?: boolean }): PropertyDecorator =>
  field(
    cursor ? () => String : () => Int,
    { type: 'integer', minimum: min, maximum: max },
    options,
    WholeNumberRead(),
    IsWholeBetween(min, max),
  );

export const BooleanField = (options: FieldOptions): PropertyDecorator =>
  field(() => Boolean, { type: Boolean }, options, IsBoolean());

/** @param cursor  as for a whole number */
export const InstantField = ({
  cursor = false,
  ...options
}: FieldOptions & { cursor?: boolean }): PropertyDecorator =>
  field(
    cursor ? () => String : () => InstantScalar,
    { type: String, format: 'date-time' },
    options,
    IsInstant(),
  );

export const DateField = (options: FieldOptions): PropertyDecorator =>
  field(() => DateScalar, { type: String, format: 'date' }, options, IsDate());

/** One of a fixed set; `values` is an enum registered with GraphQL. */
export const EnumField = ({
  values,
  name,
  ...options
}: FieldOptions & { values: Record<string, string>; name: string }): PropertyDecorator =>
  field(() => values, { enum: Object.values(values), enumName: name }, options, IsIn(Object.values(values)));

/**
 * Some values of a fixed set, each at most once. `graphql` is an enum registered with GraphQL; without it they are text there,
 * because not every value is a valid GraphQL name.
 */
export const ChoicesField = ({
  values,
  name,
  graphql = String,
  least = 0,
  ...options
}: FieldOptions & {
  values: readonly string[];
  name: string;
  graphql?: object;
  least?: number;
}): PropertyDecorator =>
  field(
    () => [graphql as typeof String],
    { enum: [...values], enumName: name, isArray: true, ...(least > 0 && { minItems: least }) },
    options,
    IsArray(),
    ArrayMinSize(least, { message: `$property must name at least ${least} of ${values.join(', ')}` }),
    IsUnique({ message: '$property must not repeat a value' }),
    AreOneOf(values),
  );

type Class = new () => object;

const NESTED = 'drivebook:nested';

/** The class of a property that holds objects, or a list of them; undefined for other properties. */
export const nestedClass = (type: Class, property: string): Class | undefined =>
  (Reflect.getMetadata(NESTED, type.prototype as object, property) as (() => Class) | undefined)?.();

const LIST = 'drivebook:list';

/** Whether a property holds a list of objects. */
export const isListProperty = (type: abstract new (...args: never[]) => object, property: string): boolean =>
  Reflect.hasMetadata(LIST, type.prototype as object, property);

/** A list left out, or null, is empty. The class itself initialises it with the empty list, as no decorator runs for an absent property. */
const NullIsEmpty = (): PropertyDecorator => Transform(({ value }: { value: unknown }) => value ?? []);

/** @param empty  whether it may be left out and is then empty; initialise the property with [] */
export const ListField = (
  of: () => Class,
  { max = 1000, empty = false, ...options }: FieldOptions & { max?: number; empty?: boolean },
): PropertyDecorator =>
  field(
    () => [of()],
    { type: () => [of()], maxItems: max, ...(empty && { required: false, default: [] }) },
    { ...options, ...(empty && { defaultValue: [] }) },
    ...(empty ? [NullIsEmpty()] : []),
    Reflect.metadata(LIST, true),
    Reflect.metadata(NESTED, of),
    Type(of),
    IsArray(),
    ArrayMaxSize(max),
    IsObjects(),
    ValidateNested({ each: true }),
  );

export const ObjectField = (of: () => Class, options: FieldOptions): PropertyDecorator =>
  field(
    () => of(), // swagger recognises the arrow function by its name
    { type: () => of() },
    options,
    Reflect.metadata(NESTED, of),
    Type(of),
    IsObject(),
    ValidateNested(),
  );

/** An object of any form; only in answers. */
export const JsonField = (options: FieldOptions): PropertyDecorator =>
  field(() => JsonScalar, { type: 'object', additionalProperties: true }, options);

export const IntListField = ({ min = 0, max = 1000, ...options }: FieldOptions & Range): PropertyDecorator =>
  field(
    () => [Int],
    { type: [Number] },
    options,
    IsArray(),
    ArrayMaxSize(100),
    WholeNumberRead(),
    AreWholeBetween(min, max),
  );

export const TextListField = ({
  maxLength = 255,
  max = 100,
  ...options
}: FieldOptions & { maxLength?: number; max?: number }): PropertyDecorator =>
  field(
    () => [String],
    { type: [String], maxItems: max },
    options,
    IsArray(),
    ArrayMaxSize(max),
    AreTextsUpTo(maxLength),
  );

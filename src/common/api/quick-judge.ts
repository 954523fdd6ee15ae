import { defaultMetadataStorage as transforms } from 'class-transformer/cjs/storage.js';
import { TransformationType } from 'class-transformer';
import { getMetadataStorage, type ValidationArguments, ValidationTypes } from 'class-validator';
import './remembered-rules.js';

// Most input breaks no rule, but class-transformer and class-validator look up the declarations of each property again for each object and
// collect errors that do not exist. Here the same declarations are looked up once per class: an object that breaks none of them is read by
// the functions they name; anything else is left to the two libraries, which report what is wrong.

type Class = new () => object;
type Members = Record<string, unknown>;
type Rules = ReturnType<ReturnType<typeof getMetadataStorage>['getTargetValidationMetadatas']>;
type RuleMetadata = Rules[number];

/** Whether a value holds. */
type Holds = (value: unknown, object: Members) => boolean;

interface Property {
  /** Whether its rules apply at all: an optional property may be absent. */
  asked: Holds[];
  holds: Holds[];
  /** Its objects are validated by their own class. */
  isNested: boolean;
  read: ((given: { value: unknown; key: string; obj: object }) => unknown)[];
  /** The class of its objects. */
  type?: Class;
}

/** The properties of a class; undefined: it declares something not handled here. */
type Known = Map<string, Property> | undefined;

const known = new WeakMap<Class, { properties: Known }>();

const storage = getMetadataStorage();

const KINDS: string[] = [
  ValidationTypes.IS_DEFINED,
  ValidationTypes.CUSTOM_VALIDATION,
  ValidationTypes.NESTED_VALIDATION,
  ValidationTypes.CONDITIONAL_VALIDATION,
  ValidationTypes.WHITELIST,
];

const holdsRule = ({ constraintCls, constraints, each, validateIf, propertyName }: RuleMetadata): Holds[] =>
  storage.getTargetValidatorConstraints(constraintCls).map(({ instance }): Holds => {
    const holdsOne = (value: unknown, given: ValidationArguments): boolean =>
      instance.validate(value, given) === true;
    return (value, object) => {
      if (validateIf && !validateIf(object, value)) return true;
      const { name: targetName } = object.constructor;
      const given = { targetName, property: propertyName, object, value, constraints };
      return each && Array.isArray(value)
        ? value.every((item) => holdsOne(item, given))
        : holdsOne(value, given);
    };
  });

const propertyOf = (type: Class, name: string, rules: Rules): Property | undefined => {
  if (rules.some((rule) => !KINDS.includes(rule.type))) return undefined;
  const of = (kind: string): Rules => rules.filter((rule) => rule.type === kind);
  const reading = transforms.findTransformMetadatas(type, name, TransformationType.PLAIN_TO_CLASS);
  if (reading.some(({ options: { since, until, groups } = {} }) => since ?? until ?? groups))
    return undefined;
  const typed = transforms.findTypeMetadata(type, name);
  if (typed?.options?.discriminator || (typed && !typed.typeFunction)) return undefined;
  return {
    asked: of(ValidationTypes.CONDITIONAL_VALIDATION).map(
      ({ constraints: [isAsked] }): Holds =>
        (value, object) =>
          (isAsked as (object: object, value: unknown) => boolean)(object, value),
    ),
    holds: [...of(ValidationTypes.IS_DEFINED), ...of(ValidationTypes.CUSTOM_VALIDATION)].flatMap(holdsRule),
    isNested: of(ValidationTypes.NESTED_VALIDATION).length > 0,
    read: reading.map(
      ({ transformFn }) =>
        (given) =>
          transformFn({ ...given, type: TransformationType.PLAIN_TO_CLASS, options: {} }),
    ),
    type: typed?.typeFunction?.() as Class | undefined,
  };
};

const looked = (type: Class): Known => {
  if (transforms.getStrategy(type) !== 'none' || transforms.getExposedMetadatas(type).length > 0)
    return undefined;
  const rules = storage.getTargetValidationMetadatas(type, '', false, false);
  const properties = new Map<string, Property>();
  for (const [name, own] of Object.entries(storage.groupByPropertyName(rules))) {
    const property = name in type.prototype ? undefined : propertyOf(type, name, own);
    if (!property) return undefined;
    properties.set(name, property);
  }
  // properties set by the class itself need rules too
  return Object.keys(new type()).every((name) => properties.has(name)) ? properties : undefined;
};

const propertiesOf = (type: Class): Known => {
  const found = known.get(type);
  if (found) return found.properties;
  const properties = looked(type);
  known.set(type, { properties });
  return properties;
};

/** An object as parsed from JSON: its prototype has none itself. */
const isPlainObject = (value: unknown): value is Members => {
  if (typeof value !== 'object' || value === null) return false;
  const prototype = Object.getPrototypeOf(value) as object | null;
  return prototype !== null && Object.getPrototypeOf(prototype) === null;
};

/** Thrown for input that is left to the libraries. */
const UNSURE = Symbol('unsure');

const valueRead = (value: unknown, { type, isNested }: Property): unknown => {
  if (value === null || value === undefined) return value;
  if (Array.isArray(value)) {
    if (type)
      return Array.from(value, (item) => (isNested && isPlainObject(item) ? read(type, item) : unsure()));
    return Array.from(value, (item: unknown) =>
      typeof item === 'object' || item === undefined ? unsure() : item,
    );
  }
  if (typeof value === 'object' || typeof value === 'function')
    return type && isNested && isPlainObject(value) ? read(type, value) : unsure();
  return type ? unsure() : value;
};

const unsure = (): never => {
  throw UNSURE;
};

const read = (type: Class, value: Members): object => {
  const properties = propertiesOf(type) ?? unsure();
  const instance = new type() as Members;
  for (const key of Object.keys(value)) {
    const property = properties.get(key) ?? unsure();
    let member = valueRead(value[key], property);
    for (const each of property.read) member = each({ value: member, key, obj: value });
    instance[key] = member;
  }
  for (const [name, { asked, holds, isNested }] of properties) {
    const member = instance[name];
    if (!asked.every((isAsked) => isAsked(member, instance))) continue;
    if (!holds.every((isHeld) => isHeld(member, instance))) unsure();
    if (isNested && (member === null || (member !== undefined && typeof member !== 'object'))) unsure();
  }
  return instance;
};

/**
 * Reads an object as an instance of the class if it breaks no rule of the class or of the classes inside it; unknown properties break one.
 * @returns undefined if it is not certain that it breaks none
 */
export const quicklyJudged = (type: Class, value: unknown): object | undefined => {
  if (!isPlainObject(value)) return undefined;
  try {
    return read(type, value);
  } catch (error) {
    if (error === UNSURE) return undefined;
    throw error;
  }
};

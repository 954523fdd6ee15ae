import { getMetadataStorage } from 'class-validator';

export type Class = new (...args: never[]) => object;

const known = new WeakMap<Class, ReadonlySet<string>>();

const looked = (type: Class): ReadonlySet<string> =>
  new Set(
    getMetadataStorage()
      .getTargetValidationMetadatas(type, '', false, false)
      .map(({ propertyName }) => propertyName),
  );

/** The properties allowed by the rules of a class. */
export const propertiesOf = (type: Class): ReadonlySet<string> => {
  const properties = known.get(type) ?? looked(type);
  known.set(type, properties);
  return properties;
};

import { getMetadataStorage } from 'class-validator';

export type Class = new (...args: never[]) => object;

/** The properties allowed by the rules of a class. */
export const propertiesOf = (type: Class): string[] => [
  ...new Set(
    getMetadataStorage()
      .getTargetValidationMetadatas(type, '', false, false)
      .map(({ propertyName }) => propertyName),
  ),
];

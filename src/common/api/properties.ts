import { getMetadataStorage } from 'class-validator';

export type Class = new (...args: never[]) => object;

/** The properties that the rules of a class allow. */
export const propertiesOf = (type: Class): string[] => [
  ...new Set(
    getMetadataStorage()
      .getTargetValidationMetadatas(type, '', false, false)
      .map(({ propertyName }) => propertyName),
  ),
];

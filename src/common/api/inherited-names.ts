import { escaped, type Fault } from './problem.js';

/**
 * Fields that are named as what every object inherits, such as "toString": no class has one, but class-validator looks names up in an
 * object and takes them for its own.
 */
export const inheritedNames = (value: unknown, where: Fault['in'], base = ''): Fault[] => {
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return [];
  return Object.entries(value).flatMap(([name, member]): Fault[] => {
    const pointer = `${base}/${escaped(name)}`;
    if (name in Object.prototype)
      return [{ in: where, pointer, value: member, detail: `property ${name} should not exist` }];
    return inheritedNames(member, where, pointer);
  });
};

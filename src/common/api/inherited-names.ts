import { escaped, type Fault } from './problem.js';

/**
 * Faults of fields named like a property that every object inherits, such as "toString": no class declares one, but
 * class-validator looks names up in an object and accepts them.
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

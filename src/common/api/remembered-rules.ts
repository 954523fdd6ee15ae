import { getMetadataStorage, type ValidationOptions } from 'class-validator';

const storage = getMetadataStorage();
const { getTargetValidationMetadatas: rulesOf, groupByPropertyName: byProperty } = storage;

type Rules = ReturnType<typeof rulesOf>;

const remembered = new Map<unknown, Rules>();
const grouped = new WeakMap<Rules, ReturnType<typeof byProperty>>();

const isPlain = (always: boolean, strictGroups: boolean, groups: ValidationOptions['groups']): boolean =>
  !always && !strictGroups && (groups ?? []).length === 0;

/**
 * class-validator searches the rules of all classes again for each object, which is most of the time that a large document
 * takes. The rules of a class and its bases are complete once loaded, so they are cached here.
 */
storage.getTargetValidationMetadatas = (target, schema, always, strictGroups, groups) => {
  if (schema || !isPlain(always, strictGroups, groups))
    return rulesOf.call(storage, target, schema, always, strictGroups, groups);
  const known = remembered.get(target) ?? rulesOf.call(storage, target, schema, always, strictGroups, groups);
  remembered.set(target, known);
  return known;
};

storage.groupByPropertyName = (rules) => {
  const known = grouped.get(rules) ?? byProperty.call(storage, rules);
  grouped.set(rules, known);
  return known;
};

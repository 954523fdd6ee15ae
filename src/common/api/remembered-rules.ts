import { getMetadataStorage, type ValidationOptions } from 'class-validator';

const storage = getMetadataStorage();
const { getTargetValidationMetadatas: rulesOf, groupByPropertyName: byProperty } = storage;

type Rules = ReturnType<typeof rulesOf>;

const remembered = new Map<unknown, Rules>();
const grouped = new WeakMap<Rules, ReturnType<typeof byProperty>>();

const isPlain = (always: boolean, strictGroups: boolean, groups: ValidationOptions['groups']): boolean =>
  !always && !strictGroups && (groups ?? []).length === 0;

/**
 * class-validator goes through the rules of all classes again for each object that it judges: most of what a large document
 * takes. A class has its rules when it is loaded, and its bases theirs, so they are looked up once.
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

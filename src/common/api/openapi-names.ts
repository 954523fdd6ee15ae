import type { OpenAPIObject } from '@nestjs/swagger';

type Paths = OpenAPIObject['paths'];
type Operation = NonNullable<Paths[string]['get']>;

const METHODS = ['get', 'put', 'post', 'delete'] as const;

export type Method = (typeof METHODS)[number];

/** Every operation of the document. */
export const operationsOf = (paths: Paths): { path: string; method: Method; operation: Operation }[] =>
  Object.entries(paths).flatMap(([path, methods]) =>
    METHODS.flatMap((method) => {
      const operation = methods[method];
      return operation ? [{ path, method, operation }] : [];
    }),
  );

/** The prefix common to most addresses, which names do not repeat. */
const COMMON = /^\/v1\/(projects\/\{project\}\/(drives\/\{drive\}\/)?(?=.))?/;

const isKey = (segment: string | undefined): boolean => segment?.startsWith('{') === true;

const capital = (word: string): string => word.slice(0, 1).toUpperCase() + word.slice(1);

const wordsOf = (segment: string): string[] => segment.replace('$', '').split(/[-.]/).map(capital);

/** Names for addresses whose key chooses a list, as an external standard defines them. */
const ENTITIES: Record<string, string> = { 'odata/{set}': 'OdataEntities' };

/** Names for a final key that stands for an action, not a thing. */
const ACTIONS: Record<string, string> = {
  '/v1/projects/{project}/imports/{kind}': 'importProjectTable',
  '/v1/projects/{project}/drives/{drive}/imports/{kind}': 'importDriveTable',
  '/v1/projects/{project}/import-jobs/{kind}': 'importLargeTable',
};

/** Plural words for a single resource: the limits in force from a day on. */
const SETS = /Limits$/;

const singular = (plural: string): string => {
  if (SETS.test(plural)) return plural;
  if (plural.endsWith('ies')) return `${plural.slice(0, -3)}y`;
  if (plural.endsWith('sses')) return plural.slice(0, -2);
  return /[^s]s$/.test(plural) ? plural.slice(0, -1) : plural;
};

/** As in "BillRule" for bills/{version}/rules/{reference}: a word followed by a key becomes singular. */
const nounOf = (segments: string[]): string =>
  segments
    .map((segment, index) => {
      if (isKey(segment)) return wordsOf(segment.slice(segment.indexOf('}') + 1)).join(''); // the format, as in {diagram}.svg
      const words = wordsOf(segment).join('');
      return isKey(segments[index + 1]) ? singular(words) : words;
    })
    .join('');

interface Named {
  path: string;
  method: Method;
  /** Whether it answers a list, or a page of one. */
  isList: boolean;
  creates: boolean;
  /** Whether the address can be read: then it is a thing, not an action. */
  hasGet: boolean;
}

/** Name of an action: agree, propose-as-governing, import. */
const actionName = (segments: string[]): string => {
  const [verb = '', ...rest] = wordsOf(segments.at(-1) ?? '');
  return `${verb.toLowerCase()}${nounOf(segments.slice(0, -1))}${rest.join('')}`;
};

/** Name of an operation in a generated client, from its address: `listDrives`, `getDrive`, `putShift`, `agreeValuation`, `undoProposeGroundLogAsGoverning`. */
export const operationName = ({ path, method, isList, creates, hasGet }: Named): string => {
  const action = ACTIONS[path];
  if (action !== undefined) return action;
  const segments = path.replace(COMMON, '').split('/').filter(Boolean);
  const noun = ENTITIES[segments.join('/')] ?? nounOf(segments);
  if (method === 'get') return `${isList ? 'list' : 'get'}${noun}`;
  if (method === 'put') return `put${noun}`;
  if (method === 'delete') return hasGet ? `remove${noun}` : `undo${capital(actionName(segments))}`;
  // a request to the project itself is not an action on a thing
  if (hasGet || segments.length === 1) return creates ? `create${singular(noun)}` : `post${noun}`;
  return actionName(segments);
};

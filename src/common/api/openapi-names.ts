import type { OpenAPIObject } from '@nestjs/swagger';

type Paths = OpenAPIObject['paths'];
type Operation = NonNullable<Paths[string]['get']>;

const METHODS = ['get', 'put', 'post', 'delete'] as const;

export type Method = (typeof METHODS)[number];

/** Each operation of the document, whichever its method. */
export const operationsOf = (paths: Paths): { path: string; method: Method; operation: Operation }[] =>
  Object.entries(paths).flatMap(([path, methods]) =>
    METHODS.flatMap((method) => {
      const operation = methods[method];
      return operation ? [{ path, method, operation }] : [];
    }),
  );

/** What nearly every address begins with, and no name needs to repeat. */
const COMMON = /^\/v1\/(projects\/\{project\}\/(drives\/\{drive\}\/)?(?=.))?/;

const isKey = (segment: string | undefined): boolean => segment?.startsWith('{') === true;

const capital = (word: string): string => word.slice(0, 1).toUpperCase() + word.slice(1);

const wordsOf = (segment: string): string[] => segment.replace('$', '').split(/[-.]/).map(capital);

/** Of which one key chooses among lists, as the addresses of a standard have it. */
const ENTITIES: Record<string, string> = { 'odata/{set}': 'OdataEntities' };

/** What a key at the end says of an action, and not of a thing. */
const ACTIONS: Record<string, string> = {
  '/v1/projects/{project}/imports/{kind}': 'importProjectTable',
  '/v1/projects/{project}/drives/{drive}/imports/{kind}': 'importDriveTable',
  '/v1/projects/{project}/import-jobs/{kind}': 'importLargeTable',
};

/** What is plural as one thing: the limits that hold from one day on. */
const SETS = /Limits$/;

const singular = (plural: string): string => {
  if (SETS.test(plural)) return plural;
  if (plural.endsWith('ies')) return `${plural.slice(0, -3)}y`;
  if (plural.endsWith('sses')) return plural.slice(0, -2);
  return /[^s]s$/.test(plural) ? plural.slice(0, -1) : plural;
};

/** As in "BillRule" for bills/{version}/rules/{reference}: what a key follows is one of many. */
const nounOf = (segments: string[]): string =>
  segments
    .map((segment, index) => {
      if (isKey(segment)) return wordsOf(segment.slice(segment.indexOf('}') + 1)).join(''); // the form, as in {diagram}.svg
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
  /** The address can be read: it is of a thing, not of an action. */
  hasGet: boolean;
}

/** Of an action: agree, propose-as-governing, import. */
const actionName = (segments: string[]): string => {
  const [verb = '', ...rest] = wordsOf(segments.at(-1) ?? '');
  return `${verb.toLowerCase()}${nounOf(segments.slice(0, -1))}${rest.join('')}`;
};

/** What an operation is called in a generated client, by its address: `listDrives`, `getDrive`, `putShift`, `agreeValuation`, `undoProposeGroundLogAsGoverning`. */
export const operationName = ({ path, method, isList, creates, hasGet }: Named): string => {
  const action = ACTIONS[path];
  if (action !== undefined) return action;
  const segments = path.replace(COMMON, '').split('/').filter(Boolean);
  const noun = ENTITIES[segments.join('/')] ?? nounOf(segments);
  if (method === 'get') return `${isList ? 'list' : 'get'}${noun}`;
  if (method === 'put') return `put${noun}`;
  if (method === 'delete') return hasGet ? `remove${noun}` : `undo${capital(actionName(segments))}`;
  // what is asked of a project itself is no action on a thing
  if (hasGet || segments.length === 1) return creates ? `create${singular(noun)}` : `post${noun}`;
  return actionName(segments);
};

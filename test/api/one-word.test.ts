import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import { buildSchema, type GraphQLObjectType } from 'graphql';

// One word for one thing: in its address, its operationId, its GraphQL field, its view, its model and the glossary. The word of the address leads;
// operationIds are derived from addresses, and mutations bear their names. A view and a model use the words of the address, in their own order (`advance/days`,
// `day_advance`), plus at most one for the form. Exceptions are listed here, with the reason.

const ROOT = path.join(import.meta.dirname, '../..');
const read = (name: string): string => readFileSync(path.join(ROOT, name), 'utf8');

interface Document {
  paths: Record<
    string,
    { get?: { responses: Record<string, { content?: Record<string, { schema: object }> }> } }
  >;
}

const { paths } = JSON.parse(read('docs/openapi.json')) as Document;
const schema = buildSchema(read('docs/schema.gql'));
const views = readdirSync(path.join(ROOT, 'prisma/views'), { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.sql'))
  .map((name) => path.basename(name, '.sql'));
const tables = Array.from(read('prisma/schema.prisma').matchAll(/@@map\("(\w+)"\)/g), ([, name]) => name);
const stored = new Set([...views, ...tables]);
const defined = new Set(
  read('docs/glossary.md')
    .toLowerCase()
    .split('\n')
    .filter((line) => line.startsWith('|'))
    .flatMap(
      (line) =>
        line
          .split('|')
          .slice(1, 3)
          .join(' ')
          .match(/[a-z]+/g) ?? [],
    )
    .flatMap((word) => [word, word.replace(/(?:ies|s)$/, '')]),
);

/** Words without meaning by themselves. */
const SMALL = ['of', 'by', 'at', 'over', 'before', 'next', 'total', 'summary', 'result', 'estimate'];

/** Routes of the service and of another interface, not of the record. */
const BESIDE = /^\/v1\/health|\/odata/;

const singular = (word: string): string =>
  /(?:ss|ch)es$/.test(word) ? word.slice(0, -2) : word.replace(/ies$/, 'y').replace(/([^s])s$/, '$1');
const one = (words: string[]): string[] =>
  words.map((word, place) => (place === words.length - 1 ? singular(word) : word));
const camel = (words: string[]): string =>
  words.map((word, place) => (place === 0 ? word : word.charAt(0).toUpperCase() + word.slice(1))).join('');
const snake = (name: string): string =>
  name.replaceAll(/[A-Z]/g, (letter) => `_${letter.toLowerCase()}`).replace(/^_/, '');

/** Breakdowns of a figure, as the last part of an address: `ledger/days` is `ledgerByDay`. */
const CUTS = [
  'days',
  'weeks',
  'months',
  'quarters',
  'shifts',
  'intervals',
  'ground-classes',
  'codes',
  'time-classes',
  'parties',
  'equipment',
];

/** Words that a view or a model adds for its form. */
const FORMS =
  'page report head summary piece document info outcome share position total line item quantity drive code period row result in register row head list table connection fact as'.split(
    ' ',
  );

const isForm = (word: string): boolean => FORMS.includes(singular(word));

interface Names {
  address: string;
  field: string | undefined;
  stored: string | undefined;
  model: string;
  sameModel: boolean;
  inGlossary: boolean;
}

const namesOf = (address: string, answer: object): Names => {
  const [type, prefix] = address.includes('/drives/{drive}')
    ? ['Drive', /^\/v1\/projects\/{project}\/drives\/{drive}/]
    : address.includes('/projects/{project}')
      ? ['Project', /^\/v1\/projects\/{project}/]
      : ['Query', /^\/v1/];
  const parts = address
    .replace(prefix as RegExp, '')
    .split('/')
    .filter((part) => part !== '' && !part.startsWith('{'))
    .map((part) => part.split('-'));
  const last = parts.at(-1) ?? [];
  const before = parts.slice(0, -1);
  const isCut = before.length > 0 && CUTS.includes(last.join('-'));
  const fields = {
    ...(schema.getQueryType() as GraphQLObjectType).getFields(),
    ...(schema.getType(type as string) as GraphQLObjectType).getFields(),
  };
  const candidates = [
    camel(parts.flat()),
    camel(parts.flatMap(one)),
    camel([...before.flatMap(one), ...last]),
    ...(isCut ? [before.flat(), before.flatMap(one)].map((of) => camel([...of, 'by', ...one(last)])) : []),
    camel([...last, ...before.flat()]),
    camel(last),
  ];
  const field = candidates.find((name) => name in fields);
  const words = new Set(
    [...parts.flat(), ...(field === undefined ? [] : snake(field).split('_'))].map(singular),
  );
  const model = /schemas\/(\w+)/.exec(JSON.stringify(answer))?.[1] ?? '';
  const main = parts
    .flat()
    .filter((word) => !SMALL.includes(word) && !isForm(word))
    .map(singular);
  /** Whether its words are those of the address, and the first of these is among them. */
  const fits = (name: string): boolean => {
    const said = name.split('_').map(singular);
    return (
      said.every((word) => words.has(word) || SMALL.includes(word) || isForm(word)) &&
      main.some((word) => said.includes(word))
    );
  };
  return {
    address: address.replace(prefix as RegExp, ''),
    field,
    stored: [...stored].find(fits),
    model,
    sameModel: fits(snake(model)),
    inGlossary: parts
      .flat()
      .filter((each) => !SMALL.includes(each))
      .every((each) => defined.has(each) || defined.has(singular(each))),
  };
};

const all = Object.entries(paths).flatMap(([address, { get }]) => {
  const answer = get?.responses['200']?.content?.['application/json']?.schema;
  return answer &&
    !BESIDE.test(address) &&
    !/^\/v1\/projects(?:\/{project}(?:\/drives(?:\/{drive})?)?)?$/.test(address)
    ? [namesOf(address, answer)]
    : [];
});

/** GraphQL fields that have another name than their address. */
const FIELDS: Record<string, string> = {
  '/calendars/{validFrom}': 'calendarShifts: in GraphQL one list has the shifts of all calendars',
  '/samples': 'sampleSummary: samples themselves are sent by REST alone, as files and lines are',
  '/diagrams': 'none: pictures are sent by REST alone',
  '/face': 'faceAt: a moment is asked for; where the face stands now is in progress',
  '/advance/window': 'advanceBetween: two moments are asked for',
  '/bills/{version}/rules': 'measurementRules: without a bill before it, a rule needs the word',
  '/bills/{version}/rules/{reference}': 'measurementRules',
  '/valuations/{number}/lines/{reference}/sources': 'valuationSources: the line is an argument',
  '/valuations/{number}/forecast':
    'forecastAtCompletion: without a valuation before it, a forecast needs the word',
  '/changes/head': 'historyHead: of the history of a project',
  '/changes/{number}/rows': 'rowChanges',
};

/** Views or tables that have another name. */
const STORED: Record<string, string> = {
  '/calendars/{validFrom}': 'calendar_shift: a calendar is its shifts',
  '/closures': 'site_closure: closed days of the site',
  '/closures/{code}': 'site_closure',
  '/import-kinds': 'none: of the service, not of the record',
  '/samples': 'machine_sample',
  '/samples/summary': 'samples_between: days are asked for',
  '/muck': 'stroke_muck: one row per stroke',
  '/daily-reports/{date}': 'shift_sheet and the others of outputs: a report is put together of many',
  '/diagrams': 'none: drawn from the views of what they show',
  '/rating-tables': 'none: published tables are in the code',
  '/rating-tables/{edition}': 'none',
  '/measurement-check': 'measure_check_of',
  '/zones': 'working_zone: zone is a word of PostgreSQL',
  '/zones/{code}': 'working_zone',
  '/webhooks': 'webhook_endpoint: beside webhook_secret and webhook_delivery',
  '/webhooks/{name}': 'webhook_endpoint',
};

/** Models that have another name. */
const MODELS: Record<string, string> = {
  '/muck': 'StrokeMuckPage: one entry a stroke',
  '/rating-tables': 'RatingEditionHead: a table is one edition of it',
  '/rating-tables/{edition}': 'RatingEdition',
  '/advance/trend': 'DayAdvanceTrend: one entry a day',
  '/programmes/{programme}/progress': 'ProgrammeDay: one entry a day',
  '/bills/{version}/rules': 'MeasurementRule',
  '/bills/{version}/rules/{reference}': 'MeasurementRule',
  '/changes/head': 'HistoryHead',
  '/ground-logs/{name}': 'GroundLogWithDoubts: that of the list, with the doubts about it',
  '/overbreak/{name}': 'OverbreakItemWithDoubts: likewise',
};

const differing = (differs: (names: Names) => boolean): string[] =>
  all
    .filter(differs)
    .map(({ address }) => address)
    .sort();

it('the field of GraphQL has the word of the address', () => {
  expect(differing(({ field }) => field === undefined)).toEqual(Object.keys(FIELDS).sort());
});

it('a view or table has its words', () => {
  expect(differing((names) => names.stored === undefined)).toEqual(Object.keys(STORED).sort());
});

it('the model has its words', () => {
  const found = all.filter(({ sameModel }) => !sameModel);
  expect(found.map(({ address }) => address).sort()).toEqual(Object.keys(MODELS).sort());
  const named = found.filter(({ address, model }) => MODELS[address]?.split(':')[0] !== model);
  expect(named).toEqual([]);
});

it('the glossary has its words', () => {
  expect(differing(({ inGlossary }) => !inGlossary)).toEqual([]);
});

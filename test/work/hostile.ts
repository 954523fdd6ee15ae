import type { OpenAPIObject } from '@nestjs/swagger';
import { zipOf } from '../../src/common/files/zip.js';
import { archive, workbookParts } from '../files/archives.js';

/** A request that costs far more to parse than to send. */
export interface Hostile {
  what: string;
  type: string;
  body: Buffer;
}

interface Schema {
  $ref?: string;
  type?: string | string[];
  properties?: Record<string, Schema>;
  items?: Schema;
  maxItems?: number;
}

interface Content {
  schema?: Schema;
  example?: unknown;
  examples?: Record<string, { value?: unknown }>;
}

export interface Route {
  method: string;
  path: string;
  url: string;
  /** names of the properties of its body, except lists */
  names: string[];
  lists: string[];
  types: string[];
  /** Its JSON example, with every list at its maximum length; undefined: it has no list. */
  fullest?: (areAlike: boolean) => string;
}

const VALUES: Record<string, string> = {
  project: 'P1',
  drive: 'N',
  date: '2027-03-01',
  day: '2027-03-01',
  shift: 'day',
  digest: '0'.repeat(64),
  number: '1',
  change: '1',
};

/** Limits of JSON (test/work/json-limits.test.ts), and of a JSON body. */
const MOST_VALUES = 55_000;
const MOST_BYTES = 1_000_000;

/** Length used for a list without a limit. */
const MANY = 1000;

/** Properties that distinguish the members of a list. */
const KEYS = new Set(['name', 'reference', 'code', 'number', 'hole']);

/** An example with its lists filled to a share of the limit: with copies of their members, identical or under names of their own. */
const filled = (
  value: unknown,
  schema: Schema | undefined,
  resolve: (schema?: Schema) => Schema | undefined,
  given: { share: number; areAlike: boolean },
  place = 0,
): unknown => {
  const found = resolve(schema);
  if (Array.isArray(value)) {
    const length = value.length === 0 ? 0 : Math.ceil((found?.maxItems ?? MANY) * given.share);
    return Array.from({ length }, (_, index) =>
      filled(value[index % value.length], found?.items, resolve, given, given.areAlike ? 0 : index),
    );
  }
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, each]: [string, unknown]) => {
      if (place === 0 || !KEYS.has(key)) return [key, filled(each, found?.properties?.[key], resolve, given)];
      return [key, typeof each === 'number' ? each + place : `${String(each)}-${place}`];
    }),
  );
};

/** As much of it as the limits allow. */
const fullestOf = (
  content: Content | undefined,
  resolve: (schema?: Schema) => Schema | undefined,
): Route['fullest'] => {
  const example = content?.example ?? Object.values(content?.examples ?? {})[0]?.value;
  if (!Object.values(example ?? {}).some((each) => Array.isArray(each) && each.length > 0)) return undefined;
  return (areAlike) => {
    for (let share = 1; ; share *= 0.8) {
      const text = JSON.stringify(filled(example, content?.schema, resolve, { share, areAlike }));
      if (text.length <= MOST_BYTES && (text.match(/[,:[{]/g)?.length ?? 0) <= MOST_VALUES) return text;
    }
  };
};

/** Every route of the document with a body. */
export const routesWithBody = ({ paths, components }: OpenAPIObject): Route[] =>
  Object.entries(paths).flatMap(([path, operations]) =>
    Object.entries(operations as Record<string, { requestBody?: { content: object } }>).flatMap(
      ([method, { requestBody }]) => {
        if (!requestBody) return [];
        const content = requestBody.content as Record<string, Content>;
        const resolve = (schema?: Schema): Schema | undefined =>
          schema?.$ref === undefined
            ? schema
            : (components?.schemas?.[schema.$ref.split('/').at(-1) ?? ''] as Schema | undefined);
        const name = content['application/json']?.schema?.$ref?.split('/').at(-1) ?? '';
        const properties = (components?.schemas?.[name] as Schema | undefined)?.properties ?? {};
        const isList = ({ type }: Schema): boolean => [type].flat().includes('array');
        return [
          {
            method: method.toUpperCase(),
            path,
            url: path.replaceAll(/\{(\w+)\}/g, (_, parameter: string) => VALUES[parameter] ?? 'A'),
            names: Object.keys(properties).filter((key) => !isList(properties[key] as Schema)),
            lists: Object.keys(properties).filter((key) => isList(properties[key] as Schema)),
            types: Object.keys(content),
            fullest: fullestOf(content['application/json'], resolve),
          },
        ];
      },
    ),
  );

const wide = (members: number): Record<string, number> =>
  Object.fromEntries(Array.from({ length: members }, (_, index) => [`key${index}`, index]));

const JSON_TYPE = 'application/json';

/** Texts that break a limit of JSON: the same for every route. */
const BROKEN = {
  'an object of 80,000 unknown names': JSON.stringify(wide(80_000)),
  'objects nested 150,000 deep': '{"a":'.repeat(150_000),
  'arrays nested 500,000 deep, and closed': `{"a":${'['.repeat(500_000)}${']'.repeat(500_000)}}`.slice(
    0,
    1e6,
  ),
  'an array of 300,000 elements': JSON.stringify({ a: new Array(300_000).fill(1) }),
  'an array of objects for the object': JSON.stringify(new Array(9000).fill({ a: 1 })),
  'a name of a megabyte': JSON.stringify({ ['x'.repeat(1_000_000)]: 1 }),
};

/** Bodies of a JSON route, made on demand: those that break the limits of JSON, and the largest within them. */
export const hostileJson = ({ names, lists }: Pick<Route, 'names' | 'lists'>): (() => Hostile)[] => {
  const each = (keys: string[], value: unknown): string =>
    JSON.stringify(Object.fromEntries(keys.map((key) => [key, value])));
  const all = [...names, ...lists];
  const texts: Record<string, () => string> = {
    ...Object.fromEntries(Object.entries(BROKEN).map(([what, text]) => [what, () => text])),
    '190 unknown names': () => JSON.stringify(wide(190)),
    'long text in each property': () =>
      each(all, 'x'.repeat(Math.floor(1_000_000 / Math.max(1, all.length)))),
    'a number of many digits in each property': () =>
      each(all, 1).replaceAll(':1', `:${'1'.repeat(Math.floor(1_000_000 / Math.max(1, all.length)))}`),
    // without a list it would be a valid body where nothing is required
    ...(lists.length > 0 && {
      'lists of empty objects': () => each(lists, new Array(Math.floor(9000 / lists.length)).fill({})),
      'lists of objects of unknown names': () =>
        each(lists, new Array(Math.floor(280 / lists.length)).fill(wide(190))),
    }),
    'lists of texts': () => each(all, new Array(Math.floor(50_000 / Math.max(6, all.length))).fill('x')),
  };
  return Object.entries(texts).map(([what, text]) => () => ({
    what,
    type: JSON_TYPE,
    body: Buffer.from(text()),
  }));
};

const part = (name: string, content: Buffer | string, more = ''): Buffer =>
  Buffer.concat([
    Buffer.from(`--b\r\ncontent-disposition: form-data; name="${name}"${more}\r\n\r\n`),
    Buffer.from(content as string),
    Buffer.from('\r\n'),
  ]);

const FORM = 'multipart/form-data; boundary=b';
const END = Buffer.from('--b--\r\n');
const MAP = JSON.stringify({ number: 'a', fromM: 'b', toM: 'c' });
const SAMPLE_MAP = JSON.stringify({ at: 'a', positionM: 'b' });
const named = '; filename="f"';

const zipped = (sheet: string, shared: string[] = []): Buffer => archive(workbookParts(sheet, shared));

/** Files that unpack or parse to far more than their size. */
const files = (): Record<string, Buffer> => ({
  'a workbook of 9 million nested tags': zipped(`<sheetData>${'<a>'.repeat(9_000_000)}`),
  'a workbook of 5 million empty cells': zipped(
    `<sheetData><row>${'<c/>'.repeat(5_000_000)}</row></sheetData>`,
  ),
  'a workbook of a million attributes': zipped(
    `<sheetData ${Array.from({ length: 1_000_000 }, (_, index) => `a${index}="" `).join('')}/>`,
  ),
  'a workbook of a million shared texts': zipped(
    '<sheetData/>',
    new Array<string>(1_000_000).fill('<si><t>x</t></si>'),
  ),
  'a workbook of one shared text in 100,000 cells': zipped(
    `<sheetData>${`<row>${'<c t="s"><v>0</v></c>'.repeat(10)}</row>`.repeat(10_000)}</sheetData>`,
    [`<si><t>${'x'.repeat(30_000)}</t></si>`],
  ),
  'an archive of zeros': zipOf([{ name: 'xl/workbook.xml', content: Buffer.alloc(200_000_000) }]),
  'an archive without its end': Buffer.from('PK\x03\x04'.repeat(1000)),
  '190 lines of 99,000 commas': Buffer.from(`a,b,c\n${`${','.repeat(99_000)}\n`.repeat(190)}`),
  'a heading row of 99,000 columns': Buffer.from(`a,b,c${',x'.repeat(45_000)}\n1,2,3\n`),
  'rows of nothing but quotation marks': Buffer.from(`a,b,c\n${`${'""'.repeat(45_000)}\n`.repeat(100)}`),
  '20 MB of short rows': Buffer.from(`a,b,c\n${'x,y,z\n'.repeat(3_300_000)}`),
  '40,000 wrong rows': Buffer.from(`a,b,c\n${'x,y,z\n'.repeat(40_000)}`),
  'zero bytes': Buffer.alloc(20_000_000),
});

/** Forms with a fault besides the file. */
const forms = (): Record<string, Buffer> => ({
  'a form without its end': Buffer.concat([part('map', MAP), part('file', 'a,b,c\n1,2,3\n', named)]),
  'a field of JSON nested 30,000 deep': Buffer.concat([
    part('map', `${'['.repeat(30_000)}${']'.repeat(30_000)}`, '"\r\ncontent-type: application/json; x="'),
    part('file', 'a\n1\n', named),
    END,
  ]),
  'a map nested 30,000 deep': Buffer.concat([
    part('map', `{"a":${'['.repeat(30_000)}${']'.repeat(30_000)}}`),
    part('file', 'a\n1\n', named),
    END,
  ]),
  'a map of 5,000 unknown fields': Buffer.concat([
    part('map', JSON.stringify(wide(4000))),
    part('file', 'a\n1\n', named),
    END,
  ]),
  'a map of 190 unknown fields': Buffer.concat([
    part('map', JSON.stringify(wide(190))),
    part('file', 'a\n1\n', named),
    END,
  ]),
  'ten thousand parts': Buffer.concat([...new Array<Buffer>(10_000).fill(part('x', 'y')), END]),
  '300,000 parts': Buffer.concat([Buffer.from(part('x', 'y').toString('latin1').repeat(300_000)), END]),
  'ten thousand files': Buffer.concat([...new Array<Buffer>(10_000).fill(part('x', 'y', named)), END]),
  'a header of a megabyte': Buffer.concat([part('x', 'y', `; z="${'z'.repeat(1_000_000)}"`), END]),
  'ten thousand headers': Buffer.concat([part('x', 'y', '\r\nx: y'.repeat(10_000)), END]),
  'a part that would be a prototype': Buffer.concat([part('__proto__', 'y'), END]),
  'nothing of a form': Buffer.from('x'.repeat(1_000_000)),
  'an empty form': END,
});

/** Bodies of a route that takes forms; made once, as they take a while. */
export const hostileForms = (): Hostile[] => [
  ...Object.entries(files()).map(([what, file]) => ({
    what,
    type: FORM,
    body: Buffer.concat([part('map', MAP), part('file', file, named), END]),
  })),
  ...Object.entries(forms()).map(([what, body]) => ({ what, type: FORM, body })),
  { what: 'a form without a boundary', type: 'multipart/form-data', body: END },
];

/** Uploads of samples without any valid row. */
export const hostileSamples = (): Hostile[] => [
  ...(
    [
      ['12 million wrong rows', `a,b\n${'x\n'.repeat(12_000_000)}`],
      ['20 million blank rows', `a,b\n${'\n'.repeat(20_000_000)}`],
      ['rows of 60,000 commas', `a,b\n${`${','.repeat(60_000)}\n`.repeat(400)}`],
      ['a heading row of 60,000 columns', `a,b${',x'.repeat(30_000)}\n`],
    ] as const
  ).map(([what, text]) => ({
    what,
    type: FORM,
    body: Buffer.concat([part('map', SAMPLE_MAP), part('file', text, named), END]),
  })),
  ...(
    [
      ['lines of JSON nested 30,000 deep', `${'['.repeat(30_000)}${']'.repeat(30_000)}\n`.repeat(100)],
      ['lines of JSON of 4,000 names', `${JSON.stringify(wide(4000))}\n`.repeat(100)],
      ['8 million lines that are not JSON', 'x\n'.repeat(8_000_000)],
    ] as const
  ).map(([what, text]) => ({ what, type: 'application/x-ndjson', body: Buffer.from(text) })),
];

/** Valid uploads of the largest size allowed. */
export const soundUploads = (): Record<string, { path: string; type: string; body: Buffer }> => ({
  '100,000 samples': {
    path: 'samples',
    type: 'application/x-ndjson',
    body: Buffer.from(
      Array.from(
        { length: 100_000 },
        (_, second) =>
          `{"at":"${new Date(Date.UTC(2027, 2, 1) + second * 1000).toISOString()}","positionM":${second / 1000},"thrustKn":9000}\n`,
      ).join(''),
    ),
  },
  'a table of 5,000 strokes': {
    path: 'imports/strokes',
    type: FORM,
    body: Buffer.concat([
      part('map', MAP),
      part(
        'file',
        `a,b,c\n${Array.from({ length: 5000 }, (_, n) => `${n + 1},${(n / 10).toFixed(1)},${((n + 1) / 10).toFixed(1)}\n`).join('')}`,
        named,
      ),
      END,
    ]),
  },
});

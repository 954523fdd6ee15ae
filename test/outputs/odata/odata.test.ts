import { readFileSync } from 'node:fs';
import path from 'node:path';
import { OData } from '@odata/client';
import fc from 'fast-check';
import { validateXML } from 'xmllint-wasm';
import { ENTITY_SETS } from '../../../src/features/outputs/odata/entity-sets.js';
import { packageRoot } from '../../../src/common/package-root.js';
import { wholeRecord } from '../../builders/whole-record.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { runs } from '../../harness/sizes.js';

// The feed against independent software: the schemas of CSDL by OASIS (package odata-csdl), a client of OData from the registry (@odata/client), and for
// $filter and $orderby a second implementation in memory, written from OData 4.0 Part 2 (sections 5.1.1 and 5.1.5).

const ROOT = '/v1/projects/ALPHA/odata';

interface Class {
  ground_class_id: number;
  ground_class_code: string;
  description: string;
  density_t_per_m3: number | null;
  swell_percent: number | null;
}

interface Page<T> {
  '@odata.context'?: string;
  '@odata.count'?: number;
  '@odata.nextLink'?: string;
  value: T[];
}

let app: TestApp;
let classes: Class[];

const get = (query: string, headers: Record<string, string> = {}) =>
  app.http.get(`${ROOT}/${query}`.replaceAll(' ', '%20')).set(headers);

const page = async <T = Class>(query: string, headers?: Record<string, string>): Promise<Page<T>> => {
  const { status, text } = await get(query, headers);
  if (status !== 200) throw new Error(`${query}: ${status} ${text}`);
  return JSON.parse(text) as Page<T>;
};

/** All entities, following the links from page to page. */
const walked = async <T = Class>(query: string, size: number, between = async () => {}): Promise<T[]> => {
  const all: T[] = [];
  let next: string | undefined = query;
  while (next !== undefined) {
    const found: Page<T> = await page<T>(next, { prefer: `odata.maxpagesize=${size}` });
    all.push(...found.value);
    next = found['@odata.nextLink']?.split(`${ROOT}/`)[1];
    await between();
  }
  return all;
};

const WORDS = ['massive', 'blocky', "geologist's", 'Folded, wet', '100%', 'a_b', 'ÄÖ', ''];

beforeAll(async () => {
  app = await startApp({});
  await app.sql(`${wholeRecord(1, 'ALPHA')} ${wholeRecord(2, 'BETA')}`);
  const rows = Array.from({ length: 40 }, (_, i) => {
    const text = (WORDS[i % WORDS.length] ?? '').replaceAll("'", "''");
    const density = i % 5 === 0 ? 'null' : (2.5 + (i % 7) / 20).toFixed(3);
    const swell = i % 3 === 0 ? 'null' : (40 + (i % 4) * 5).toFixed(2);
    return `(1, 'X${i}', 'class ${text} ${i % 6}', ${density}, ${swell})`;
  });
  await app.sql(
    `insert into ground_class (project_id, code, description, density_t_per_m3, swell_percent) values ${rows.join(', ')}`,
  );
  classes = (await page('dim_ground_class')).value;
});

afterAll(() => app.close());

it('the description is valid CSDL 4.0 by the schemas of OASIS, and names every set and property', async () => {
  const schema = (name: string) => ({
    fileName: name,
    contents: readFileSync(path.join(packageRoot, 'node_modules/odata-csdl/schemas', name), 'utf8'),
  });
  const { text, headers } = await get('$metadata');
  expect(headers['content-type']).toBe('application/xml;charset=utf-8');
  const checked = await validateXML({
    xml: [{ fileName: 'metadata.xml', contents: text }],
    schema: [schema('edmx.xsd')],
    preload: [schema('edm.xsd')],
  });
  expect(checked.errors).toEqual([]);
  expect(checked.valid).toBe(true);
  const columns = await app.sql<{ n: number }>(
    `select count(*)::int as n from information_schema.columns where table_schema = 'report' and table_name ~ '^(fact|dim)_'`,
  );
  expect(text.match(/<Property /g)).toHaveLength(columns[0]?.n ?? 0);
  expect(text.match(/<EntitySet /g)).toHaveLength(Object.keys(ENTITY_SETS).length);
  const wrong = text.replace('Type="Edm.Int32"', 'Type="Edm Int32"');
  const refused = await validateXML({
    xml: [{ fileName: 'metadata.xml', contents: wrong }],
    schema: [schema('edmx.xsd')],
    preload: [schema('edm.xsd')],
  });
  expect(refused.valid).toBe(false);
});

it('an independent OData client reads every set, with the values of the views', async () => {
  const client = OData.New4({ serviceEndpoint: `${await app.app.getUrl()}${ROOT}/` });
  for (const name of Object.keys(ENTITY_SETS).filter((each) => each !== 'dim_date')) {
    const [counted] = await app.sql<{ n: number }>(
      `select count(*)::int as n from report.${name} where project_code = 'ALPHA'`,
    );
    const set = client.getEntitySet(name);
    const found = await set.query();
    expect([name, found.length]).toEqual([name, Math.min(counted?.n ?? 0, 1000)]); // the client does not follow links
    expect([name, Number(await set.count())]).toEqual([name, counted?.n]);
  }
  const set = client.getEntitySet<Class>('dim_ground_class');
  const dense = await set.query(set.newFilter().property('density_t_per_m3').gt(2.7));
  expect(dense.map((one) => one.ground_class_code)).toEqual(
    classes.filter((one) => (one.density_t_per_m3 ?? 0) > 2.7).map((one) => one.ground_class_code),
  );
});

it('the dates have every day from the first to the last, once', async () => {
  const days = (await walked<{ date: string }>('dim_date?$select=date', 500)).map(({ date }) =>
    Date.parse(date),
  );
  expect(days.every((day, i) => i === 0 || day - (days[i - 1] ?? 0) === 86_400_000)).toBe(true);
  const parts = await walked<{ production_day: string }>('fact_activity_part?$select=production_day', 500);
  expect(parts.every((part) => days.includes(Date.parse(part.production_day)))).toBe(true);
});

it('values are those of the views, to the last digit', async () => {
  const rows = await app.sql<{ row: string }>(
    `select jsonb_agg(to_jsonb(f) order by support_line_id)::text as row from report.fact_support_line f where project_code = 'ALPHA'`,
  );
  const { text } = await get('fact_support_line');
  const sorted = await app.sql<{ same: boolean }>(`select ($1::jsonb -> 'value')::text = $2 as same`, [
    text.replaceAll('+01:00', '+00:00').replaceAll('+02:00', '+00:00'),
    rows[0]?.row,
  ]);
  const plain = (json: string) => json.replace(/"\d{4}-\d\d-\d\dT[^"]*"/g, '"instant"').replaceAll(/\s/g, '');
  if (!sorted[0]?.same) {
    const [again] = await app.sql<{ value: string }>(`select ($1::jsonb -> 'value')::text as value`, [text]);
    expect(plain(again?.value ?? '')).toBe(plain(rows[0]?.row ?? ''));
  }
  const exact = await page<Record<string, string>>('fact_support_line?$select=quantity&$top=1', {
    accept: 'application/json;odata.metadata=minimal;IEEE754Compatible=true',
  });
  expect(exact.value[0]?.['quantity']).toMatch(/^\d+\.\d{3}$/);
});

// --- $filter: a condition as text, and the same as a function of an entity

interface Condition {
  text: string;
  holds: (one: Class) => boolean;
}

const NUMBERS = ['density_t_per_m3', 'swell_percent', 'ground_class_id'] as const;
const quoted = (text: string): string => `'${text.replaceAll("'", "''")}'`;

const { condition } = fc.letrec<{ condition: Condition }>((tie) => ({
  condition: fc.oneof(
    { maxDepth: 4 },
    fc
      .record({
        name: fc.constantFrom(...NUMBERS),
        operator: fc.constantFrom('eq', 'ne', 'gt', 'ge', 'lt', 'le'),
        value: fc.constantFrom(2.5, 2.6, 2.75, 40, 45, 12, 1e1),
      })
      .map(({ name, operator, value }): Condition => ({
        text: `${name} ${operator} ${value}`,
        holds: (one) => {
          const has = one[name];
          if (operator === 'ne') return has !== value;
          if (has === null) return false;
          if (operator === 'eq') return has === value;
          if (operator === 'gt') return has > value;
          if (operator === 'ge') return has >= value;
          return operator === 'lt' ? has < value : has <= value;
        },
      })),
    fc
      .record({ name: fc.constantFrom(...NUMBERS), isNot: fc.boolean() })
      .map(({ name, isNot }): Condition => ({
        text: `${name} ${isNot ? 'ne' : 'eq'} null`,
        holds: (one) => (one[name] === null) !== isNot,
      })),
    fc
      .record({
        call: fc.constantFrom('contains', 'startswith', 'endswith'),
        part: fc.constantFrom(...WORDS, 'class', '3'),
      })
      .map(({ call, part }): Condition => ({
        text: `${call}(description,${quoted(part)})`,
        holds: ({ description }) => {
          if (call === 'contains') return description.includes(part);
          return call === 'startswith' ? description.startsWith(part) : description.endsWith(part);
        },
      })),
    fc
      .array(fc.constantFrom<string>('X1', 'X2', "X'3", 'X30'), { minLength: 1, maxLength: 3 })
      .map((codes): Condition => ({
        text: `ground_class_code in (${codes.map(quoted).join(',')})`,
        holds: (one) => codes.includes(one.ground_class_code),
      })),
    fc.constantFrom<Condition>(
      {
        text: "tolower(description) eq 'class massive 0'",
        holds: (one) => one.description.toLowerCase() === 'class massive 0',
      },
      { text: 'length(description) gt 12', holds: (one) => [...one.description].length > 12 },
      {
        text: 'density_t_per_m3 in (2.6, null)',
        holds: (one) => one.density_t_per_m3 === 2.6 || one.density_t_per_m3 === null,
      },
    ),
    tie('condition').map(({ text, holds }): Condition => ({
      text: `not (${text})`,
      holds: (one) => !holds(one),
    })),
    fc
      .tuple(tie('condition'), tie('condition'), fc.constantFrom('and', 'or'))
      .map(([a, b, word]): Condition => ({
        text: `(${a.text}) ${word} (${b.text})`,
        holds: (one) => (word === 'and' ? a.holds(one) && b.holds(one) : a.holds(one) || b.holds(one)),
      })),
  ),
}));

it('$filter finds the same as the condition in memory', async () => {
  await fc.assert(
    fc.asyncProperty(condition, async ({ text, holds }) => {
      const query = `$filter=${encodeURIComponent(text)}`;
      const found = await page(`dim_ground_class?${query}`);
      expect(found.value).toEqual(classes.filter(holds));
      expect((await get(`dim_ground_class/$count?${query}`)).text).toBe(String(found.value.length));
    }),
    runs(20, 500),
  );
});

it('and binds tighter than or, and looser than a comparison', async () => {
  const text = "ground_class_code eq 'X1' or ground_class_code eq 'X2' and density_t_per_m3 eq null";
  expect((await page(`dim_ground_class?$filter=${text}`)).value.map((one) => one.ground_class_code)).toEqual([
    'X1',
  ]);
});

it.each([
  ['year(production_day) eq 2024', `extract(year from production_day) = 2024`],
  [
    'month(started_at) lt 13 and hour(started_at) ge 12',
    `extract(hour from started_at at time zone 'UTC') >= 12`,
  ],
  ['date(started_at) ge 2000-01-01', 'true'],
  ['started_at lt 2000-01-01T00:00:00Z', 'false'],
  ['seconds gt 1.5e3 and lost eq true', 'seconds > 1500 and lost'],
  ['started_at le now()', 'started_at <= now()'],
  ['lost', 'lost'],
  ["not contains(remark,'x')", "strpos(remark, 'x') = 0"],
  ['round(hours) eq 1', 'round(hours) = 1'],
  ['not (null gt 1) and not (1 le null)', 'true'], // OData 4.0 Part 2, 5.1.1.1: null is neither greater nor less
  ['null lt 2021-01-01', 'false'],
  ['year(null) eq 1 or month(null) in (1,2)', 'false'],
  ['year(null) eq null', 'true'],
])('%s', async (filter, sql) => {
  const [row] = await app.sql<{ n: string }>(
    `select count(*)::text as n from report.fact_activity_part where project_code = 'ALPHA' and ${sql}`,
  );
  expect((await get(`fact_activity_part/$count?$filter=${filter}`)).text).toBe(row?.n);
});

// --- order and pages

const before = (a: number | null, b: number | null): number => {
  if (a === b) return 0;
  if (a === null) return -1;
  return b === null || a > b ? 1 : -1;
};

it.each([1, 3, 7, 100])('pages of %d follow one another, null first', async (size) => {
  const asked = 'dim_ground_class?$orderby=density_t_per_m3 desc,swell_percent&$filter=ground_class_id gt 0';
  const ordered = [...classes].sort(
    (a, b) =>
      before(b.density_t_per_m3, a.density_t_per_m3) ||
      before(a.swell_percent, b.swell_percent) ||
      a.ground_class_id - b.ground_class_id,
  );
  expect((await walked(asked, size)).map((one) => one.ground_class_code)).toEqual(
    ordered.map((one) => one.ground_class_code),
  );
});

it('paging neither loses nor repeats an entity while others are added and removed', async () => {
  let i = 0;
  const found = await walked('dim_ground_class?$orderby=description', 4, async () => {
    i += 1;
    await app.sql(
      `insert into ground_class (project_id, code, description) values (1, 'NEW${i}', '${i % 2 === 0 ? 'a' : 'z'}')`,
    );
    if (i > 1) await app.sql(`delete from ground_class where project_id = 1 and code = 'NEW${i - 1}'`);
  });
  await app.sql(`delete from ground_class where project_id = 1 and code like 'NEW%'`);
  const kept = found.map((one) => one.ground_class_code).filter((code) => !code.startsWith('NEW'));
  expect([...kept].sort()).toEqual(classes.map((one) => one.ground_class_code).sort());
});

it('readings with binary fractions are paged in order too', async () => {
  const all = await walked<{ boring_id: number }>('fact_boring?$orderby=thrust_kn desc&$select=boring_id', 1);
  const [row] = await app.sql<{ n: number }>(
    `select count(*)::int as n from report.fact_boring where project_code = 'ALPHA'`,
  );
  expect(all).toHaveLength(row?.n ?? 0);
});

it('$top and $skip count over all pages, $count without them', async () => {
  const found = await page('dim_ground_class?$top=5&$skip=3&$count=true&$select=ground_class_code');
  const codes = classes.map(({ ground_class_code }) => ({ ground_class_code }));
  expect(found.value).toEqual(codes.slice(3, 8));
  expect(found['@odata.count']).toBe(classes.length);
  expect(found['@odata.nextLink']).toBeUndefined();
  expect(found['@odata.context']).toMatch(/\/odata\/\$metadata#dim_ground_class\(ground_class_code\)$/);
  expect(await walked('dim_ground_class?$top=5&$skip=3&$select=ground_class_code', 2)).toEqual(
    codes.slice(3, 8),
  );
  expect((await page('dim_ground_class?$top=0')).value).toEqual([]);
});

it('answers without metadata, and states the version of OData', async () => {
  const { text, headers } = await get('dim_zone', { accept: 'application/json;odata.metadata=none' });
  expect(headers['odata-version']).toBe('4.0');
  expect(headers['content-type']).toBe('application/json;odata.metadata=none;charset=utf-8');
  expect(Object.keys(JSON.parse(text) as object)).toEqual(['value']);
});

it.each([
  [
    'fact_activity_part?$filter=seconds eq',
    422,
    /it ends where a property, a value or a function is expected/,
  ],
  ["fact_activity_part?$filter=remark eq 'x", 422, /quote left open/],
  ['fact_activity_part?$filter=seconds eq 1 2', 422, /it has "2" where and, or, or the end is expected/],
  [
    'fact_activity_part?$filter=metres gt 1',
    422,
    /"metres" is neither a property of fact_activity_part nor a value/,
  ],
  ['fact_activity_part?$filter=constructor eq 1', 422, /"constructor" is neither/],
  ["fact_activity_part?$filter=seconds eq 'x'", 422, /compares values of one type, not a number with text/],
  ['fact_activity_part?$filter=seconds', 422, /a number is no condition/],
  ['fact_activity_part?$filter=production_day eq 2021-02-31', 422, /"2021-02-31" is neither/],
  ['fact_activity_part?$filter=seconds eq 1e99999', 422, /is neither/],
  ["fact_activity_part?$filter=remark eq '%00'", 422, /./],
  ['fact_activity_part?$filter=seconds add 1 gt 2', 501, /operator add/],
  ["fact_activity_part?$filter=matchesPattern(remark,'x')", 501, /function matchesPattern/],
  ['fact_activity_part?$orderby=seconds down', 422, /\$orderby takes properties/],
  ['fact_activity_part?$orderby=x', 422, /\$orderby names "x"/],
  ['fact_activity_part?$select=seconds,x', 422, /\$select names "x"/],
  ['fact_activity_part?$top=-1', 422, /\$top/],
  ['fact_activity_part?$count=maybe', 422, /\$count/],
  ['fact_activity_part?$skiptoken=abc', 422, /\$skiptoken is not that of a next link/],
  [
    `fact_activity_part?$skiptoken=${Buffer.from('["x","y"]').toString('base64url')}`,
    422,
    /outside the range/,
  ],
  ['fact_activity_part?$expand=shift', 501, /\$expand/],
  ['$metadata?$search=x', 501, /\$search/],
  ['fact_activity_part?$apply=aggregate(x)', 501, /\$apply/],
  ['fact_activity_part?$format=atom', 406, /only as json/],
  ['fact_activity_part?top=1', 422, /unknown query parameter "top"/],
  ['fact_activity_part(1)', 422, /^set must be/],
  ['pg_authid', 404, /no entity set "pg_authid"/],
  ['constructor', 404, /no entity set/],
])('refused: %s', async (query, status, detail) => {
  const answer = await get(query);
  expect([answer.status, answer.body.detail]).toEqual([status, expect.stringMatching(detail)]);
});

it('refuses a client of an earlier OData version, and a page of no entities', async () => {
  expect((await get('dim_zone', { 'odata-maxversion': '3.0' })).status).toBe(400);
  expect((await get('dim_zone', { 'odata-maxversion': '4.01' })).status).toBe(200);
  expect((await get('dim_zone', { prefer: 'odata.maxpagesize=0' })).status).toBe(422);
});

it('limits the size of a condition', async () => {
  const deep = await get(`fact_activity_part?$filter=${'('.repeat(60)}lost eq true${')'.repeat(60)}`);
  expect([deep.status, deep.body.detail]).toEqual([422, '$filter is nested more than 40 deep']);
  const long = await get(`fact_activity_part?$filter=activity_id in (${'1,'.repeat(600)}1)`);
  expect([long.status, long.body.detail]).toEqual([422, '$filter has more than 500 values and names']);
});

import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';

// $filter over null: whether the class A, whose swell is not known, is found by a condition, and by its negation.

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  await app.sql(`update ground_class set swell_percent = null`);
});

afterAll(() => app.close());

/**
 * OData 4.0 Part 2: a comparison with null is true or false (5.1.1.1.1 to 5.1.1.1.6); and, or and not treat null as unknown (5.1.1.1.7 to 5.1.1.1.9);
 * a function of null is null (5.1.1.4). Part 1, 11.2.5.1: $filter includes the entities for which it is true.
 */
const OF_NULL: [filter: string, value: boolean | null][] = [
  ['null eq null', true],
  ['null ne null', false],
  ...['gt', 'ge', 'lt', 'le'].flatMap((name): [string, boolean][] => [
    [`null ${name} null`, false],
    [`null ${name} 1`, false],
    [`1 ${name} null`, false],
    [`swell_percent ${name} null`, false],
  ]),
  ['swell_percent eq 40', false],
  ['swell_percent ne 40', true],
  ['swell_percent in (40,null)', true],
  ['swell_percent in (40)', false],
  ['null in (1,2)', false],
  ['null in (1,null)', true],
  ['null', null],
  ['null and true', null],
  ['null and false', false],
  ['null or true', true],
  ['null or false', null],
  ['null and null', null],
  ...['contains', 'startswith', 'endswith'].flatMap((name): [string, null][] => [
    [`${name}(null,null)`, null],
    [`${name}(description,null)`, null],
    [`${name}(null,'x')`, null],
    [`${name}(toupper(null),'X')`, null],
  ]),
  ["contains(null,'x') eq null", true],
  ["contains(null,'x') eq false", false],
  ["contains(null,'x') ne false", true],
  ["contains(null,'x') and false", false],
  ["contains(null,'x') or true", true],
  ["contains(null,'x') or false", null],
  ...['length', 'tolower', 'toupper', 'trim'].map((name): [string, boolean] => [
    `${name}(null) eq null`,
    true,
  ]),
  ...['year', 'month', 'day', 'hour', 'minute', 'second', 'date', 'round', 'floor', 'ceiling'].flatMap(
    (name): [string, boolean][] => [
      [`${name}(null) eq null`, true],
      [`${name}(null) ne null`, false],
    ],
  ),
  ['round(swell_percent) eq null', true],
  ['length(null) gt 1', false],
];

it.each(OF_NULL)('%s is %s', async (filter, value) => {
  const found = async (text: string): Promise<boolean> => {
    const { status, body } = await app.http
      .get('/v1/projects/P1/odata/dim_ground_class')
      .query({ $filter: text });
    expect([text, status]).toEqual([text, 200]);
    return (body as { value: { ground_class_code: string }[] }).value.some(
      (one) => one.ground_class_code === 'A',
    );
  };
  expect(await found(filter)).toBe(value === true);
  expect(await found(`not (${filter})`)).toBe(value === false);
  expect(await found(`not not (${filter})`)).toBe(value === true);
});

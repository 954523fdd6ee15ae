import { aProject } from '../builders/project.js';
import { startApp, type TestApp } from '../harness/app.js';
import { addressOf, type Operation, operationsOf, type Parameter, send } from './operations.js';
import { itOnce, oneIn, sized } from '../harness/sizes.js';

// Rules for all routes, tried on all operations of the OpenAPI document, so that new ones are included.

let app: TestApp;
let operations: Operation[];
let before: string;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
  operations = operationsOf(app);
  before = await app.contents();
});

afterEach(async () => {
  expect(await app.contents()).toBe(before);
});

afterAll(() => app.close());

interface Refusal {
  operation: string;
  status: number;
  pointer?: string;
  detail?: string;
}

const ask = async (operation: Operation, search: string): Promise<Refusal> => {
  const { name, address } = operation;
  const { status, body } = await send(app, operation, `${address}?${search}`);
  const [fault] = (body as { errors?: { pointer: string; detail: string }[] }).errors ?? [];
  return { operation: `${name}?${search}`, status, pointer: fault?.pointer, detail: fault?.detail };
};

const queryOf = ({ parameters }: Operation): Parameter[] => parameters.filter((each) => each.in === 'query');

const refused = (pointer: string, detail: unknown): object =>
  expect.objectContaining({ status: 422, pointer, detail }) as object;

describe('every operation', () => {
  it('refuses a query parameter that it does not declare, and names those that it declares', async () => {
    expect(operations.length).toBeGreaterThan(170);
    for (const operation of oneIn(12, operations)) {
      const names = queryOf(operation).map((each) => each.name);
      const answer = await ask(operation, 'nonsense=1');
      expect(answer).toEqual(
        refused(
          '/nonsense',
          expect.stringContaining('unknown query parameter "nonsense": this route takes '),
        ),
      );
      const takes = answer.detail?.split(' takes ')[1]?.split(', ').sort();
      expect(takes).toEqual(names.length === 0 ? ['no query parameters'] : names.sort());
    }
  });

  it.each(['__proto__=1', 'constructor=1', 'asOf[]=2027-03-01', '=1', '%zz=1'])(
    'refuses %s, even where no record exists',
    async (search) => {
      const name = search.slice(0, search.lastIndexOf('='));
      const some = operations.filter(({ path }) => /health|rating-tables|progress$|days$/.test(path));
      for (const operation of some)
        expect(await ask(operation, search)).toEqual(
          refused(`/${name}`, expect.stringContaining(`unknown query parameter "${name}"`)),
        );
    },
  );

  it('refuses each of its query parameters when it is given twice', async () => {
    for (const operation of oneIn(12, operations, 1))
      for (const { name } of queryOf(operation).filter((each) => each.name !== 'asOf'))
        expect(await ask(operation, `${name}=1&${name}=2`)).toEqual(
          refused(`/${name}`, `${name} is given 2 times: it takes one value`),
        );
  });

  it('refuses a moment in another form, and one given twice', async () => {
    const moment = '2027-03-01T06:00:00Z';
    const some = oneIn(12, operations, 2).filter((each) => queryOf(each).some(({ name }) => name === 'asOf'));
    for (const operation of some)
      for (const search of ['asOf=2027-03-01', `asOf=${moment}&asOf=${moment}`])
        expect(await ask(operation, search)).toEqual(
          refused('/asOf', expect.stringContaining('asOf must be a moment')),
        );
  });

  it.each([
    ['1899-12-31T23:59:59Z', 'asOf must lie in the years 1900 to 2199'],
    ['2200-01-01T00:00:00Z', 'asOf must lie in the years 1900 to 2199'],
    ['2027-02-30T06:00:00Z', 'asOf must be a day of the calendar'],
    ...['2027-03-01T25:00:00Z', '2027-02-28T24:00:00Z'].map((asOf): [string, string] => [
      asOf,
      'asOf must be a moment with its offset, such as 2027-03-01T06:00:00+01:00, to the millisecond',
    ]),
  ])('refuses the moment %s, naming the rule that it breaks', async (asOf, detail) => {
    const { body } = await app.http.get('/v1/projects/P1/drives/N/progress').query({ asOf });
    expect(body).toMatchObject({
      status: 422,
      errors: [{ in: 'query', pointer: '/asOf', value: asOf, detail }],
    });
  });

  itOnce('understands the bare + of an offset in asOf', async () => {
    const at = (offset: string): Promise<{ status: number; text: string }> =>
      app.http.get(`/v1/projects?asOf=2026-01-01T06:00:00${offset}`);
    const { status, text } = await at('+01:00');
    expect([status, text]).toEqual([200, (await at('%2B01:00')).text]);
  });

  itOnce('suggests the name of a parameter that is nearly right', async () => {
    const { detail } = await ask(
      { name: '', method: 'get', address: '/v1/projects/P1/drives/N/progress' } as Operation,
      'asof=2027-03-01T06:00:00Z',
    );
    expect(detail).toBe('unknown query parameter "asof"; write asOf: this route takes asOf');
  });
});

const isNumber = ({ schema }: Parameter): boolean => schema?.type === 'number' || schema?.type === 'integer';

/** Numbers that JavaScript would accept; the service accepts plain decimal text only. */
const LOOSE = [
  '0x1',
  '+1',
  '01',
  '1e3',
  '1e-7',
  '%201',
  '1%20',
  '1.',
  '.5',
  '1_000',
  'Infinity',
  'NaN',
  '',
  '%zz',
];

/** Not whole numbers in plain digits, or outside the bounds of every parameter. */
const NOT_WHOLE = ['1.0', '-1', '99999999999999999999'];

const isWhole = ({ schema }: Parameter): boolean => schema?.type === 'integer';

/** The other required parameters of an operation. */
const required = (operation: Operation, name?: string): string =>
  queryOf(operation)
    .filter((each) => each.required === true && each.name !== name)
    .map((each) => `&${each.name}=1`)
    .join('');

describe('a number', () => {
  it('in a query has one decimal form', async () => {
    const asked = new Set<string>();
    for (const operation of operations)
      for (const { name } of queryOf(operation).filter(isNumber))
        for (const text of asked.has(name) ? LOOSE.slice(0, sized(0, 2)) : LOOSE) {
          const search = `${name}=${text}${required(operation, name)}`;
          const { status, body } = await app.http.get(`${operation.address}?${search}`);
          expect([operation.name, text, status, (body as { errors: object[] }).errors]).toEqual([
            operation.name,
            text,
            422,
            expect.arrayContaining([expect.objectContaining({ in: 'query', pointer: `/${name}` })]),
          ]);
          asked.add(name);
        }
    expect([...asked]).toEqual(expect.arrayContaining(['first', 'lengthM', 'hours', 'axisDeg']));
  });

  it('in a path has one decimal form', async () => {
    let asked = 0;
    // If a body is missing too, that may be refused first.
    const bare = operations.filter(({ requestBody }) => requestBody === undefined);
    for (const operation of bare)
      for (const each of operation.parameters.filter((one) => one.in === 'path' && isNumber(one)))
        for (const text of asked < 20
          ? LOOSE.filter((one) => one !== '' && one !== '%zz')
          : ['0x1', '01'].slice(0, sized(1, 2))) {
          const { name, method, path, parameters } = operation;
          const address = addressOf(path, parameters, { [each.name]: text });
          const { status, body } = await app.http[method](`${address}?${required(operation).slice(1)}`);
          expect([name, text, status, (body as { errors: object[] }).errors]).toEqual([
            name,
            text,
            422,
            expect.arrayContaining([expect.objectContaining({ in: 'path', pointer: `/${each.name}` })]),
          ]);
          asked += 1;
        }
    expect(asked).toBeGreaterThan(30);
  });
});

describe('a whole number', () => {
  it('in a path or a query consists of digits and has bounds, and a refusal names it, the value sent, and the rule', async () => {
    const asked = { path: 0, query: 0 };
    for (const operation of operations.filter(({ requestBody }) => requestBody === undefined))
      for (const each of operation.parameters.filter((one) => one.in !== 'header' && isWhole(one)))
        for (const text of NOT_WHOLE) {
          const { name, in: place } = each;
          const address = addressOf(
            operation.path,
            operation.parameters,
            place === 'path' ? { [name]: text } : {},
          );
          const search = `${place === 'query' ? `&${name}=${text}` : ''}${required(operation, name)}`;
          const { status, body } = await app.http[operation.method](`${address}?${search.slice(1)}`);
          const detail = expect.stringMatching(
            `^${name.replace('$', '\\$')} must be a whole number from \\d+ to \\d+`,
          ) as unknown;
          expect([operation.name, status, (body as { errors: object[] }).errors]).toEqual([
            operation.name,
            422,
            expect.arrayContaining([{ in: place, pointer: `/${name}`, value: text, detail }]),
          ]);
          asked[place as 'path' | 'query'] += 1;
        }
    expect([asked.path > 30, asked.query > 30]).toEqual([true, true]);
  });
});

describe('a key in a path', () => {
  it.each([
    ['..%2F..', 3],
    ['-1%00', 6],
  ])('that cannot be valid is refused by every operation that takes it: %s', async (text, place) => {
    for (const operation of oneIn(14, operations, place))
      for (const { name } of operation.parameters.filter(
        (one) => one.in === 'path' && one.name !== 'subject',
      )) {
        const address = addressOf(operation.path, operation.parameters, { [name]: text });
        const { status } = await send(app, operation, address);
        expect([operation.name, name, status]).toEqual([operation.name, name, 422]);
      }
  });
});

describe('a length too short to divide by', () => {
  it('is refused by GraphQL too, before the drive is divided by it', async () => {
    const query =
      '{ drive(project: "P1", drive: "N") { supportQuantitiesByInterval(lengthM: 1e-7) { from } } }';
    const { body } = await app.http.post('/graphql').send({ query });
    expect((body as { errors: { extensions: object }[] }).errors[0]?.extensions).toMatchObject({
      status: 422,
      errors: [{ pointer: '/lengthM' }],
    });
  });
});

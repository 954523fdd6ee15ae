import { JSON_TYPE } from '../../src/common/api/examples/step.js';
import { STORY } from '../../src/common/api/examples/story.js';
import { addressOf, type Operation } from '../api/operations.js';
import { type Examples, startWithExamples } from '../api/put-examples.js';

// Every valid document with one corrupted value: null, empty, a number too small, a list too deep. The service refuses it or accepts it, and
// does not fail; a refused document has changed nothing.

let site: Examples;

beforeAll(async () => {
  site = await startWithExamples();
});

afterAll(() => site.app.close());

type Path = (string | number)[];

/** The paths of all values in a document except the document itself. */
const placesIn = (value: unknown, path: Path = []): Path[] =>
  typeof value !== 'object' || value === null
    ? []
    : Object.entries(value).flatMap(([key, inner]) => {
        const place = [...path, Array.isArray(value) ? Number(key) : key];
        return [place, ...placesIn(inner, place)];
      });

const at = (document: unknown, path: Path): unknown =>
  path.reduce((value, key) => (value as Record<string | number, unknown>)[key], document);

const withValue = (document: object, path: Path, value: unknown): object => {
  const copy = structuredClone(document);
  (at(copy, path.slice(0, -1)) as Record<string | number, unknown>)[path.at(-1) ?? ''] = value;
  return copy;
};

const NUMBER = /^-?\d+(\.\d+)?$/;

/** Corrupted values. A text of 2,000 brackets represents a list of that depth: it is inserted unchanged. */
const spoilt = (value: unknown): unknown[] => [
  null,
  ...(Array.isArray(value) ? [[], [null], null] : []),
  ...(typeof value === 'number' || (typeof value === 'string' && NUMBER.test(value))
    ? [1e-7, '1e-7', -1]
    : []),
];

interface Case {
  method: 'put' | 'post' | 'delete';
  url: string;
  text: string;
}

const casesOf = (): Case[] =>
  STORY.filter(({ type, body }) => type === JSON_TYPE && typeof body === 'object').flatMap(
    ({ method, path, keys, body }) => {
      const url = addressOf(path, site.operation(method, path)?.parameters ?? [], keys);
      const texts = placesIn(body).flatMap((place) => [
        ...spoilt(at(body, place)).map((value) => JSON.stringify(withValue(body as object, place, value))),
        JSON.stringify(withValue(body as object, place, 'DEEP')).replace(
          '"DEEP"',
          '['.repeat(2000) + ']'.repeat(2000),
        ),
      ]);
      return [...new Set(texts)].map((text) => ({ method, url, text }));
    },
  );

const writes = async (): Promise<number> =>
  (await site.app.sql<{ n: number }>('select count(*)::int as n from history.change'))[0]?.n ?? 0;

it('a body is accepted or refused wherever it is corrupted, and nothing is written where it is refused', async () => {
  const cases = casesOf();
  expect(cases.length).toBeGreaterThan(500);
  const faults: string[] = [];
  const tags = new Map<string, string>();
  let written = await writes();
  for (const { method, url, text } of cases) {
    const named = /\/(agree|certify|countersign|accept)$/.exec(url) ? url.replace(/\/[a-z]+$/, '') : url;
    const tag = tags.get(url) ?? (await site.app.http.get(named)).get('etag') ?? '*';
    const answer = await site.app.http[method](url)
      .set({ 'content-type': JSON_TYPE, 'if-match': tag })
      .send(text);
    tags.set(url, answer.get('etag') ?? tag);
    const now = await writes();
    if (answer.status >= 500 || answer.status === 428 || (answer.status >= 400 && now !== written))
      faults.push(`${url} ${text.slice(0, 300)} → ${answer.status} ${answer.text.slice(0, 200)}`);
    written = now;
  }
  expect(faults).toEqual([]);
});

it('a number in a path is refused in any form but decimal', async () => {
  const isNumber = ({ schema }: Operation['parameters'][number]): boolean => {
    const { type, pattern } = (schema ?? {}) as { type?: string; pattern?: string };
    return type === 'number' || type === 'integer' || /^\^(-\?)?\(\?:0/.test(pattern ?? '');
  };
  const numbers = site.operations.flatMap(({ method, parameters, address }) =>
    parameters
      .filter((each) => each.in === 'query' && isNumber(each))
      .map(({ name }) => ({ method, url: `${address}?${name}=1e-7` })),
  );
  expect(numbers.length).toBeGreaterThan(30);
  const faults: string[] = [];
  for (const { method, url } of numbers) {
    const { status } = await site.app.http[method](url);
    if (status < 400 || status >= 500) faults.push(`${method} ${url} → ${status}`);
  }
  expect(faults).toEqual([]);
});

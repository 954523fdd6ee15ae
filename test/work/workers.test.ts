import { ProblemError } from '../../src/common/api/problem.js';
import { Workers } from '../../src/common/work/workers.js';
import { READ_IMPORT } from '../../src/features/site/imports/read-job.js';

let workers: Workers;

beforeAll(() => {
  workers = new Workers();
});

afterAll(() => workers.close());

const COLUMNS = [
  { field: 'name', type: 'text' as const, isKey: true },
  { field: 'chainage', type: 'chainage' as const, isKey: false },
];

const read = (text: string): Promise<unknown> =>
  workers.run(READ_IMPORT, {
    file: Buffer.from(text),
    columns: COLUMNS,
    mostRows: 5000,
    rows: 'discontinuities',
  });

const SHEET = 'name,chainage\nD1,1+200\n';

describe('the threads that read tables', () => {
  it('return what they read, and throw a problem unchanged', async () => {
    expect(await read(SHEET)).toEqual({
      fields: ['name', 'chainage'],
      ignored: [],
      isOfRecords: false,
      rows: [JSON.stringify([{ line: 2, cells: [{ text: 'D1' }, { text: '1+200' }] }])],
      forms: { file: 'csv', encoding: 'utf-8', delimiter: 'comma', chainages: 'km+m' },
    });
    const refusal: unknown = await read('name\n').catch((error: unknown) => error);
    expect(refusal).toBeInstanceOf(ProblemError);
    expect(refusal).toMatchObject({
      code: 'invalid',
      faults: [
        { in: 'body', pointer: '/file', detail: 'the table has a heading row but no discontinuities' },
      ],
    });
  });

  it('accept a limited number at once, and ask the others to retry', async () => {
    const answers = await Promise.allSettled(Array.from({ length: 40 }, () => read(SHEET)));
    const refused = answers.flatMap((answer) =>
      answer.status === 'rejected' ? [answer.reason as unknown] : [],
    );
    expect(answers.length - refused.length).toBeGreaterThanOrEqual(9);
    expect(refused.length).toBeGreaterThanOrEqual(30);
    for (const refusal of refused)
      expect(refusal).toMatchObject({
        code: 'unavailable',
        message: expect.stringMatching(/^The service is reading \d+ tables already; nothing was written\./),
      });
    expect(await read(SHEET)).toBeDefined(); // and serve on
  });
});

import { aProject } from '../../builders/project.js';
import { num, workbookOf } from '../../files/archives.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { at, FROM, NONE, outcomes, type Report, taken, upload } from './uploads.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

afterEach(() => app.sql('delete from bill'));

const take = (file: string | Buffer, fields?: Record<string, string>, version?: string): Promise<Report> =>
  taken(app, file, fields, version);

const HEAD = 'reference,description,unit,rate';

describe('a table', () => {
  it('creates, changes and leaves items alone; replaces all on request', async () => {
    await take(
      `${HEAD},decimals,quantity,kind\nT.1,one,m3,1,1,10,quantity\nT.2,two,h,2,0,20,time\nT.3,three,nr,3,0,30,quantity\n`,
      FROM,
    );
    // without a column for it, the existing value is kept; a new item has quantity 0
    const table = `Rate [EUR];Reference;DESCRIPTION;Unit;Decimals\n2.50;T.2;two;h;0\n7;T.9;nine;m2;3\n3.00;T.3;three;nr;0\n`;
    const report = await take(table, { delimiter: 'semicolon', remark: 'later' });
    expect(outcomes(report)).toEqual({ ...NONE, created: 1, updated: 1, unchanged: 1 });
    const row = { key: 'A', faults: [], changes: [], notes: [] };
    expect(report.rows).toEqual([
      {
        ...row,
        line: 2,
        outcome: 'updated',
        changes: [
          { field: 'remark', to: 'later', from: null },
          { field: 'items', from: '3 rows', to: '4 rows' },
          { field: 'rate', from: '2.00', to: '2.50' },
        ],
      },
      { ...row, line: 3, outcome: 'created' },
      { ...row, line: 4, outcome: 'unchanged' },
    ]);
    const items = async (): Promise<unknown> => {
      const { body } = await app.http.get(at('A'));
      return body.items.map(({ reference, kind, decimals, quantity, rate }: Record<string, unknown>) => [
        reference,
        kind,
        decimals,
        quantity,
        rate,
      ]);
    };
    expect(await items()).toEqual([
      ['T.1', 'quantity', 1, '10.0', '1.00'],
      ['T.2', 'time', 0, '20', '2.50'],
      ['T.3', 'quantity', 0, '30', '3.00'],
      ['T.9', 'quantity', 3, '0.000', '7.00'],
    ]);
    expect((await app.http.get(at('A'))).body.remark).toBe('later');
    const replaced = await take(`${HEAD}\nT.9,nine,m2,7\nT.1,one,m3,1\n`, { replace: 'true' }); // decimals stay
    expect(outcomes(replaced)).toEqual({ ...NONE, unchanged: 2, removed: 2 });
    expect(await items()).toEqual([
      ['T.9', 'quantity', 3, '0.000', '7.00'],
      ['T.1', 'quantity', 1, '10.0', '1.00'],
    ]);
  });

  it('names the version of the bill that it changes', async () => {
    await take(`${HEAD},decimals\nT.1,one,m3,1,0\n`, FROM);
    const other = `${HEAD},decimals\nT.1,one,m3,2,0\n`;
    const unnamed = await upload(app, other);
    expect([unnamed.status, unnamed.body.errors]).toMatchObject([
      428,
      [{ pointer: '/rows/0/etag', detail: expect.stringContaining('give in a column etag') }],
    ]);
    expect((await upload(app, other, { etag: '"x"' })).status).toBe(412);
    const again = await upload(app, `${HEAD},decimals\nT.1,one,m3,1.00,0\n`, { etag: '"x"' });
    expect([again.status, again.body.unchanged]).toEqual([200, 1]); // nothing to change
  });

  // Missing or unreadable values of a row, then invalid items, then conflicts between columns.
  const FORM: [row: string, field: string, value: string | null | undefined, detail: string | RegExp][] = [
    ['T.3,x,m3,"1,5",1,1,quantity,,,', 'rate', '1,5', /^rate must be a number/],
    ['T.4,x,m3,1e3,1,1,quantity,,,', 'rate', '1e3', /^rate must be a number/],
    [',x,m3,1,1,1,quantity,,,', 'reference', undefined, 'reference is missing'],
    ['T.5,x,,1,1,1,quantity,,,', 'unit', undefined, 'unit is missing'],
    ['T.6,x,m3,1.1234567,1,1,quantity,,,', 'rate', '1.1234567', /at most 6 decimals/],
    ['T.7,x,m3,1,1.5,1,quantity,,,', 'decimals', '1.5', /decimals must be a whole number/],
    ['T.9,x,m3,1,1,1,guess,,,', 'kind', 'guess', /kind must be one of/],
    ['T.12,x,m3,1', '', undefined, 'the row has 4 columns; there are 10 headings'],
    ['T.3,x,m3,1,1,1,quantity,,,', 'reference', 'T.3', 'T.3 is listed twice, on lines 2 and 10'],
    ['T 13,x,m3,1,1,1,quantity,,,', 'reference', 'T 13', /letters, digits/],
  ];
  const ITEM: typeof FORM = [
    ['T.2,x,m3,-5,1,1,quantity,,,', 'rate', '-5', /^rate is -5: a rate must not be negative/],
    ['T.8,x,m3,1,1,1.25,quantity,,,', 'quantity', '1.25', /more decimals than the 1/],
    [
      'T.11,x,m3,1,1,1,quantity,G,Stone,',
      'groupTitle',
      'Stone',
      /the title "Rock" as item 1: a group has one title$/,
    ],
  ];
  const SHOWN: typeof FORM = [
    [
      'T.10,x,m3,2.25,1,10.5,quantity,,,23.62',
      'amount',
      '23.62',
      'amount is 23.62; from the other columns it is "23.63"',
    ],
  ];

  it.each([
    ['the form of its rows', FORM],
    ['its items', ITEM],
    ['its amounts', SHOWN],
    ['each of these', [...FORM, ...ITEM, ...SHOWN]],
  ])('that is wrong in %s writes nothing, and names field, value and rule for each row', async (_, rows) => {
    await take(`${HEAD},decimals,group_code,group_title\nT.1,one,m3,1,0,G,Rock\n`, FROM);
    const before = await app.contents();
    const sound = 'T.14,x,m3,1,1,1,quantity,,,1.004'; // rounded, it is 1.00
    const head = `${HEAD},decimals,quantity,kind,group_code,group_title,amount`;
    const file = `${[head, ...rows.map(([row]) => row), sound].join('\n')}\n`;
    const tried = await take(file, { dryRun: 'true' });
    expect(outcomes(tried)).toEqual({ ...NONE, rejected: rows.length + 1 });
    for (const [index, [, field, value, detail]] of rows.entries()) {
      const { outcome, line, faults } = tried.rows[index] ?? {};
      expect([line, outcome, faults]).toEqual([
        index + 2,
        'rejected',
        [
          {
            field,
            value: value ?? null,
            detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
          },
        ],
      ]);
    }
    expect(tried.rows.at(-1)?.faults).toEqual([
      {
        field: '',
        value: null,
        detail: expect.stringMatching(/^rejected with row \d+, which is of the same record$/),
      },
    ]);
    const { etag } = (await app.http.get(at('A'))).body;
    const { status, body } = await upload(app, file, { etag });
    expect([status, body.errors.length]).toEqual([422, rows.length]);
    expect(await app.contents()).toBe(before);
  });

  it.each<[string, string | Buffer, Record<string, string>, string, string | RegExp]>([
    ['no columns that are known', 'a,b\n1,2\n', FROM, '/file', /^"a" is not a known heading/],
    [
      'a heading twice',
      `${HEAD},Rate [EUR]\nT.1,x,m3,1,1\n`,
      FROM,
      '/file',
      /is rate again, which an earlier column is already/,
    ],
    [
      'no items',
      `${HEAD}\n,only a title,,\n`,
      FROM,
      '/file',
      'the table has a heading row but no items of bills',
    ],
    [
      'another delimiter',
      `${HEAD.replaceAll(',', ';')}\n`,
      { ...FROM, delimiter: 'comma' },
      '/delimiter',
      /name the delimiter/,
    ],
    [
      'no first day',
      `${HEAD},decimals\nT.1,x,m3,1,0\n`,
      {},
      '/rows/0/validFrom',
      'line 2: validFrom is missing',
    ],
    [
      'an invalid day',
      `${HEAD},decimals\nT.1,x,m3,1,0\n`,
      { validFrom: '2027-02-30' },
      '/rows/0/validFrom',
      /must be a day of the calendar/,
    ],
    [
      'an invalid currency',
      `${HEAD},decimals\nT.1,x,m3,1,0\n`,
      { ...FROM, currency: 'XYZ' },
      '/rows/0/currency',
      'line 2: XYZ is not a currency of ISO 4217',
    ],
    [
      'too many rows',
      `${HEAD}\n${'T.1,x,m3,1\n'.repeat(5001)}`,
      FROM,
      '/file',
      'the table has more than 5000 rows: split it',
    ],
    [
      'too many items',
      `${HEAD},decimals\n${Array.from({ length: 2001 }, (_, n) => `T.${n},x,m3,1,0`).join('\n')}\n`,
      FROM,
      '/rows/0/items',
      'line 2: items must contain no more than 2000 elements',
    ],
    [
      'a broken workbook',
      Buffer.from('PK\x03\x04 and no more'),
      FROM,
      '/file',
      /^the workbook cannot be read: it is not a complete archive/,
    ],
    [
      'an old workbook',
      Buffer.from('d0cf11e0a1b11ae1', 'hex'),
      FROM,
      '/file',
      /an old .xls, or a workbook with a password/,
    ],
    [
      'no such sheet',
      workbookOf([['Reference']]),
      { ...FROM, sheet: 'X' },
      '/sheet',
      /it has no sheet "X"; its sheets are "Notes", "Bill"/,
    ],
    ['a sheet without headings', workbookOf([['a'], ['b']]), FROM, '/file', /^"a" is not a known heading/],
    [
      'merged headings',
      workbookOf(
        [
          ['Reference', 'Description', null, 'Unit', 'Rate'],
          ['T.1', 'x', null, 'm3', num('1')],
        ],
        ['B1:C1'],
      ),
      FROM,
      '/file',
      'the heading "Description" lies in the merged cells B1:C1: unmerge them',
    ],
  ])('that cannot be read is refused: %s', async (_, file, fields, pointer, detail) => {
    const before = await app.contents();
    const { status, body } = await upload(app, file, fields);
    expect([status, body.errors[0]]).toEqual([
      422,
      expect.objectContaining({
        pointer,
        detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
      }),
    ]);
    expect(await app.contents()).toBe(before);
  });
});

describe('a workbook of another program', () => {
  const HEADINGS = ['Reference', 'Description', 'Unit', 'Quantity', 'Rate (EUR)', 'Amount', 'Decimals'];

  it('is imported with titles, sections and totals around the items, and numbers to fifteen digits', async () => {
    const file = workbookOf(
      [
        ['Tender of somebody'],
        [],
        HEADINGS,
        [null, 'Section one'],
        [
          'T.1',
          ' one ',
          'm3',
          num('12.300000000000001'),
          num('1.1000000000000001'),
          { xml: '<f>D5*E5</f><v>13.530000000000001</v>' },
          num('1'),
        ],
        ['T.2', 'two', 'nr', num('1.2E3'), num('0.30000000000000004'), { xml: '<f>D6*E6</f>' }, num('0')],
        [null, 'Sum', null, null, null, { xml: '<f>SUM(F5:F6)</f><v>1</v>' }],
      ],
      ['A1:G1', 'B7:E7'],
    );
    const report = await take(file, FROM);
    expect(outcomes(report)).toEqual({ ...NONE, created: 2, passedOver: 2 });
    const { body } = await app.http.get(at('A'));
    expect(body.amount).toBe('373.53'); // 13.53 + 1200·0.3
    expect(
      body.items.map(({ description, quantity, rate }: Record<string, string>) => [
        description,
        quantity,
        rate,
      ]),
    ).toEqual([
      ['one', '12.3', '1.10'],
      ['two', '1200', '0.30'],
    ]);
  });

  it('with invalid cells is refused cell by cell', async () => {
    const row = (
      reference: Parameters<typeof workbookOf>[0][number][number],
      quantity: { xml: string; type?: string } | string,
      rate: { xml: string; type?: string } | string = num('1'),
    ) => [reference, 'x', 'm3', quantity, rate, num('3')];
    const cases: [ReturnType<typeof row>, string, string | RegExp][] = [
      [
        row('T.1', { xml: '<f>1+1</f>' }),
        'quantity',
        'quantity is a formula without a stored value: let the spreadsheet compute and save it',
      ],
      [row('T.2', 'ten'), 'quantity', /^quantity must be a number/],
      [row('T.4', { xml: '<v>#REF!</v>', type: 'e' }), 'quantity', 'quantity is #REF!; it must be a number'],
      [row('T.5', { xml: '<v>1</v>', type: 'b' }), 'quantity', 'quantity is TRUE; it must be a number'],
      [row(num('1.1'), num('1')), 'reference', /^reference is the number 1.1; it must be text/],
      [row('T.8', num('1'), num('0.1234567')), 'rate', /at most 6 decimals/],
      [row('T.9', num('1E+300')), 'quantity', /must be a number from/],
      [row('T.10', num('1')), 'quantity', 'quantity lies in the merged cells D9:E9: unmerge them'],
    ];
    const file = workbookOf(
      [[...HEADINGS.slice(0, 5), 'Decimals'], ...cases.map(([cells]) => cells)],
      ['D9:E9'],
    );
    const report = await take(file, { ...FROM, dryRun: 'true' });
    for (const [index, [, field, detail]] of cases.entries())
      expect([index, report.rows[index]?.faults[0]]).toEqual([
        index,
        expect.objectContaining({
          field,
          detail: typeof detail === 'string' ? detail : expect.stringMatching(detail),
        }),
      ]);
    expect(outcomes(report)).toEqual({ ...NONE, rejected: cases.length });
  });
});

import { readXlsx } from '../../../src/common/files/xlsx-read.js';
import { ZipFile } from '../../../src/common/files/zip.js';
import { aBill, anItem, EXAMPLE_BILL, EXAMPLE_TOTALS } from '../../builders/bill.js';
import { aProject } from '../../builders/project.js';
import { startApp, type TestApp } from '../../harness/app.js';
import { at, FROM, NONE, outcomes, type Report, taken } from './uploads.js';

let app: TestApp;

beforeAll(async () => {
  app = await startApp();
  await aProject(app);
});

afterAll(() => app.close());

afterEach(() => app.sql('delete from bill'));

const take = (file: string | Buffer, fields?: Record<string, string>, version?: string): Promise<Report> =>
  taken(app, file, fields, version);

const bytes = async (path: string): Promise<Buffer> => {
  const { status, body, headers } = await app.http
    .get(path)
    .buffer(true)
    .parse((answer, done) => {
      const parts: Buffer[] = [];
      answer.on('data', (part: Buffer) => parts.push(part));
      answer.on('end', () => done(null, Buffer.concat(parts)));
    });
  expect([status, headers['content-disposition']]).toEqual([
    200,
    expect.stringMatching(/^attachment; filename="bill-N-A\./),
  ]);
  return body as Buffer;
};

describe('the example', () => {
  it('is imported with its amounts after a dry run, and exported and imported again unchanged', async () => {
    const before = await app.contents();
    const tried = await take(EXAMPLE_BILL, { ...FROM, dryRun: 'true' });
    expect([tried['dryRun'], outcomes(tried)]).toEqual([true, { ...NONE, created: 16 }]);
    expect(await app.contents()).toBe(before);

    expect(outcomes(await take(EXAMPLE_BILL, FROM))).toEqual({ ...NONE, created: 16 });
    const { body: bill } = await app.http.get(at('A'));
    expect(bill.amount).toBe(EXAMPLE_TOTALS.amount);
    expect(
      bill.groups.map(({ groupCode, itemCount, amount }: Record<string, unknown>) => [
        groupCode,
        itemCount,
        amount,
      ]),
    ).toEqual(EXAMPLE_TOTALS.groups);

    const stands = await app.contents();
    const csv = (await bytes(`${at('A')}/export.csv`)).toString();
    const plain = EXAMPLE_BILL.trimEnd().split('\n');
    expect(csv.split('\r\n').slice(0, 2)).toEqual([
      plain[0],
      '"SITE-1","SITE","Site and machine","Bring, assemble and commission the machine","lump","sum",0,1,1850000.00,1850000.00',
    ]);
    expect(outcomes(await take(csv))).toEqual({ ...NONE, unchanged: 16 });
    const xlsx = await bytes(`${at('A')}/export.xlsx`);
    // below the items: the heading of the totals, five groups, the total
    expect(outcomes(await take(xlsx))).toEqual({ ...NONE, unchanged: 16, passedOver: 7 });
    expect(outcomes(await take(xlsx, { replace: 'true' }))).toEqual({
      ...NONE,
      unchanged: 16,
      passedOver: 7,
    });
    expect(await app.contents()).toBe(stands);

    // and creates another version with the same content
    await take(xlsx, { validFrom: '2027-06-01' }, 'B');
    const { body: copy } = await app.http.get(at('B'));
    expect(copy.items).toEqual(bill.items);
  });

  it('is a printable sheet, with formulas and their values', async () => {
    await take(EXAMPLE_BILL, FROM);
    const file = await bytes(`${at('A')}/export.xlsx`);
    const { name, rows, merged } = readXlsx(file);
    expect([name, merged]).toEqual(['Bill A', []]);
    const texts = (line: number): unknown[] =>
      [...(rows.find((row) => row.line === line)?.cells ?? [])].map(([, { text }]) => text);
    expect(texts(1)).toEqual(['Bill A, drive N, project P1']);
    expect(texts(2)).toEqual(['Counts from 2027-01-01; rates and amounts in EUR']);
    expect(texts(4)).toEqual([
      'Reference',
      'Group code',
      'Group title',
      'Description',
      'Kind',
      'Unit',
      'Decimals',
      'Quantity',
      'Rate [EUR]',
      'Amount [EUR]',
    ]);
    expect(texts(7)).toEqual([
      'EXC-1',
      'EXCAVATE',
      'Excavation',
      'Excavation in hard rock, bored diameter 6 to 7 m',
      'quantity',
      'm3',
      '1',
      '38484.5',
      '61.75',
      '2376417.88',
    ]);
    expect(texts(23)).toEqual(['SITE', 'Site and machine', 'Total of the group', '6270000.00']);
    expect(texts(28)).toEqual(['Total of the bill', EXAMPLE_TOTALS.amount]);

    const sheet = new ZipFile(file, 1_000_000).read('xl/worksheets/sheet1.xml').toString();
    const formula = (place: string): string | undefined =>
      new RegExp(`<c r="${place}"[^>]*><f>([^<]*)</f>`).exec(sheet)?.[1];
    expect(formula('J7')).toBe('ROUND(H7*I7,2)');
    expect(formula('J23')).toBe('SUMPRODUCT(EXACT($B$5:$B$20,B23)*$J$5:$J$20)');
    expect(formula('J28')).toBe('SUM(J5:J20)');
    for (const part of [
      '<pane ySplit="4" topLeftCell="A5" activePane="bottomLeft" state="frozen"/>',
      '<pageSetUpPr fitToPage="1"/>',
      '<pageSetup paperSize="9" orientation="landscape" fitToWidth="1" fitToHeight="0"/>',
      '&amp;LBill A, drive N, project P1&amp;RPage &amp;P of &amp;N',
    ])
      expect(sheet).toContain(part);
    const zip = new ZipFile(file, 1_000_000);
    expect(zip.read('xl/workbook.xml').toString()).toContain(
      `<definedName name="_xlnm.Print_Titles" localSheetId="0">'Bill A'!$4:$4</definedName>`,
    );
    const styles = zip.read('xl/styles.xml').toString();
    for (const format of ['#,##0', '#,##0.0', '#,##0.00', '#,##0.000'])
      expect(styles).toContain(`formatCode="${format}"`);
  });

  // Yen and dinars, an item without a group, texts that look like formulas, and a number with eighteen digits.
  it.each(['JPY', 'KWD'])('a bill in %s is exported and imported again unchanged', async (currency) => {
    const items = [
      anItem('T.1', {
        description: '=HYPERLINK("http://x","y")',
        rate: '123456789012.345678',
        decimals: 6,
        quantity: '999999.999999',
      }),
      anItem('T.2', { description: "'=x", unit: '-', groupCode: 'G', groupTitle: '+1 "and", more;\n@x' }),
      anItem('T.3', { description: '_x0041_ & <b> 😀', quantity: '0', rate: '0.000001' }),
    ];
    const { body: made } = await app.http.put(at('A')).send(aBill(items, { currency }));
    expect(made.bill.items[0].description).toBe(items[0]?.description);
    const csv = (await bytes(`${at('A')}/export.csv`)).toString();
    expect(csv).toContain(`"'=HYPERLINK(""http://x"",""y"")"`);
    expect(csv).toContain(`"''=x"`);
    expect(csv).toContain(`"'-"`);
    const before = await app.contents();
    for (const file of [Buffer.from(csv), await bytes(`${at('A')}/export.xlsx`)]) {
      const report = await take(file, { replace: 'true' });
      expect([report.rows.map(({ changes }) => changes), report['unchanged']]).toEqual([[[], [], []], 3]);
    }
    expect(await app.contents()).toBe(before);
    const sheet = new ZipFile(await bytes(`${at('A')}/export.xlsx`), 1_000_000)
      .read('xl/worksheets/sheet1.xml')
      .toString();
    // text, not a formula
    expect(sheet).toContain(
      't="inlineStr"><is><t>=HYPERLINK(&quot;http://x&quot;,&quot;y&quot;)</t></is></c>',
    );
    expect(sheet.match(/<f>/g)).toHaveLength(3 + 2 + 1);
  });
});

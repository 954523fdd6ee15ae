import pg from 'pg';
import { captured } from '../../harness/captured-command.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, booked, certified, drafted, ITEMS, PLACE, sent, startContract } from './contract.js';

// A certified valuation is measured again from the history. Changes that bypass the triggers, as a superuser can make, are detected.

let office: Office;
const { DATABASE_URL } = process.env;

beforeAll(async () => {
  office = await startContract();
  process.env.DATABASE_URL = office.url;
  await aBill(office, 'V1', '2027-01-01', ITEMS.slice(0, 4));
  const day = aDay('2027-03-01', 1, '1+200', '1+201.7', (shift) =>
    shift.withGround('A', '1+200', '1+201.7').withSupport('BOLT', '1+200', '1+201.7', '8'),
  );
  await booked(office, '2027-03-01', day);
  await drafted(office, 1, '2027-03-31');
  await certified(office, 1);
  await drafted(office, 2, '2027-04-30');
});

afterAll(async () => {
  if (DATABASE_URL === undefined) delete process.env.DATABASE_URL;
  else process.env.DATABASE_URL = DATABASE_URL;
  await office.close();
});

/** Runs the work with a statement executed without triggers, and undoes it. */
const tampered = async (sql: string, back: string, work: () => Promise<void>): Promise<void> => {
  const client = new pg.Client({ connectionString: office.url });
  await client.connect();
  try {
    await client.query('set session_replication_role = replica');
    await client.query(sql);
    await work();
    await client.query(back);
  } finally {
    await client.end();
  }
};

const verify = (...args: string[]) =>
  captured('valuation', 'verify', ...args, '--project', 'P1', '--drive', 'N');

it('says that it is equal, and up to which change of the history', async () => {
  const { status, out } = await verify('1');
  expect(status).toBe(0);
  expect(out).toMatch(/^Valuation 1: equal, 4 lines against the record after change \d+\.\n$/);
});

it.each([
  [
    'a line',
    'update certified_line set to_date_amount = to_date_amount + 1, amount = amount + 1 where amount = 338.8',
    'update certified_line set to_date_amount = to_date_amount - 1, amount = amount - 1 where amount = 339.8',
    'bill V1, item B.1: toDateAmount was certified as 339.8 and measures 338.8\n',
  ],
  [
    'the number of lines',
    `create temp table kept as select l.* from certified_line l join pay_item i on i.id = l.pay_item_id where i.reference = 'T.3';
      delete from certified_line where id in (select id from kept)`,
    'insert into certified_line select * from kept',
    'bill V1, item T.3: toDateQuantity was certified as nothing and measures 0\nValuation 1: different, 3 lines',
  ],
  [
    'a source',
    `update certified_source set to_date_quantity = 9, quantity = 9 where reference = 'B.1'`,
    `update certified_source set to_date_quantity = 8, quantity = 8 where reference = 'B.1'`,
    /^bill V1, item B\.1: sources was certified as [0-9a-f]{64} and measures [0-9a-f]{64}\n/,
  ],
  [
    'the record as it stood',
    'update history.support_installed set quantity = 7',
    'update history.support_installed set quantity = 8',
    /^bill V1, item B\.1: exactQuantity was certified as 8 and measures 7\n/,
  ],
  [
    'the bill as it stood',
    `update history.pay_item set rate = 1 where reference = 'T.1'`,
    `update history.pay_item set rate = 1850 where reference = 'T.1'`,
    'bill V1, item T.1: toDateAmount was certified as 3145 and measures 1.7\n',
  ],
])('says where %s was changed', async (_, sql, back, expected) => {
  await tampered(sql, back, async () => {
    const { status, out } = await verify('1');
    expect(status).toBe(1);
    expect(out.slice(0, typeof expected === 'string' ? expected.length : undefined)).toEqual(
      typeof expected === 'string' ? expected : expect.stringMatching(expected),
    );
    expect(await sent(office, 'vera', 'get', `${PLACE}/valuations/1/verification`)).toMatchObject({
      equal: false,
    });
  });
  expect((await verify('1')).status).toBe(0);
});

it('says that a draft is not verified, and reports unknown arguments', async () => {
  expect(await verify('2')).toMatchObject({
    status: 1,
    err: 'valuation 2 is draft: only a certified valuation can be verified\n',
  });
  expect(await verify('9')).toMatchObject({
    status: 1,
    err: 'There is no valuation 9 of drive N in project P1.\n',
  });
  expect((await verify('x')).status).toBe(2);
  expect((await captured('valuation', 'verify', '1')).status).toBe(2);
  expect((await captured('valuation', '--help')).status).toBe(0);
});

import fc from 'fast-check';
import { aShift } from '../../builders/shift.js';
import type { Office } from '../../harness/office.js';
import { aBill, anotherDrive, booked, PLACE, startContract } from './contract.js';

// Whatever is posted late, counted anew, reopened, removed or disputed, and whenever it is certified: the certified and the
// drafted quantities sum to what the record measures. The model keeps, by day, the bolts of the last document's lines, whether it is
// countersigned, and whether its first line is in dispute. The second version of the bill begins in the middle.

const ITEM = { reference: 'B.1', unit: 'nr', decimals: 0, rule: { source: 'support', dimension: 'count' } };
const DAYS = 6;
const SECOND = 3;
const RATES = [10, 12];

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

type Step =
  | { do: 'post'; day: number; bolts: number[] }
  | { do: 'reopen' | 'remove' | 'dispute' | 'settle'; day: number }
  | { do: 'certify'; days: number };

const day = fc.integer({ min: 0, max: DAYS - 1 });
const step: fc.Arbitrary<Step> = fc.oneof(
  {
    weight: 5,
    arbitrary: fc.record({
      do: fc.constant('post' as const),
      day,
      bolts: fc.array(fc.integer({ min: 1, max: 9 }), { maxLength: 3 }),
    }),
  },
  { weight: 4, arbitrary: fc.record({ do: fc.constantFrom('reopen' as const, 'remove' as const), day }) },
  { weight: 3, arbitrary: fc.record({ do: fc.constantFrom('dispute' as const, 'settle' as const), day }) },
  {
    weight: 3,
    arbitrary: fc.record({ do: fc.constant('certify' as const), days: fc.integer({ min: 1, max: 3 }) }),
  },
);

const dateOf = (base: string, n: number): string =>
  new Date(Date.parse(base) + n * 86_400_000).toISOString().slice(0, 10);

/** The nth of them, cyclically. */
const oneOf = (n: number, of: number[]): number | undefined => of[n % of.length];

/** A life of a separate drive. */
const live = async (drive: string, steps: Step[]): Promise<void> => {
  const place = PLACE.replace(/\/N$/, `/${drive}`);
  const base = '2027-03-01';
  const as = (who: string, method: 'get' | 'put' | 'post' | 'delete', path: string) =>
    office.http[method](`${place}${path}`).set(office.headersOf(who));
  const book = new Map<number, { bolts: number[]; open: boolean }>();
  const disputes = new Map<number, number>();
  let [number, cutOff] = [1, -1];
  const measure = (from: number, until: number): number =>
    [...book]
      .filter(([n, { open }]) => n >= from && n < until && !open)
      .flatMap(([n, { bolts }]) => bolts.slice(disputes.has(n) ? 1 : 0))
      .reduce((sum, bolts) => sum + bolts, 0);

  for (const one of steps) {
    if (one.do === 'post') {
      const date = dateOf(base, one.day);
      const document = one.bolts
        .reduce(
          (shift, bolts, index) => shift.withSupport('BOLT', `1+20${index}`, undefined, String(bolts)),
          aShift(date).submitted().withActivity('MAINT', '06:00', '18:00'),
        )
        .build();
      await booked(office, date, document, place);
      book.set(one.day, { bolts: one.bolts, open: false });
    } else if (one.do === 'dispute') {
      const n = oneOf(
        one.day,
        [...book.keys()].filter((key) => measure(key, key + 1) > 0 && !disputes.has(key)),
      );
      if (n === undefined) continue;
      const sourceKey = `${dateOf(base, n)}/day/support/1`;
      const raised = { reference: 'B.1', sourceKey, reason: 'not tested' };
      const { body } = await as('boris', 'post', '/quantity-disputes').send(raised);
      disputes.set(n, body.number);
    } else if (one.do === 'settle') {
      const n = oneOf(one.day, [...disputes.keys()]);
      if (n === undefined) continue;
      await as('clara', 'post', `/quantity-disputes/${disputes.get(n)}/settle`).send({
        settlement: 'tested',
      });
      disputes.delete(n);
    } else if (one.do === 'certify') {
      const next = Math.min(cutOff + one.days, DAYS);
      if (next === cutOff) continue;
      await as('clara', 'put', `/valuations/${number}`).send({ cutOff: dateOf(base, next) });
      await as('boris', 'post', `/valuations/${number}/agree`);
      const { status } = await as('clara', 'post', `/valuations/${number}/certify`);
      const open = [...book].some(([n, shift]) => n <= next && shift.open);
      expect(status).toBe(open ? 409 : 200);
      if (!open) [number, cutOff] = [number + 1, next];
    } else {
      const n = oneOf(
        one.day,
        [...book.keys()].filter((key) => !book.get(key)?.open),
      );
      const shift = n === undefined ? undefined : book.get(n);
      if (n === undefined || !shift) continue;
      const url = `/shifts/${dateOf(base, n)}/day`;
      const stands = await as('anna', 'get', url);
      const reopened = await as('boris', 'post', `${url}/reopen`)
        .set('If-Match', stands.headers['etag'] ?? '')
        .send({ reason: 'looked at again' });
      expect(reopened.status).toBe(200);
      shift.open = true;
      if (one.do === 'remove') {
        await as('anna', 'delete', url).set('If-Match', reopened.headers['etag'] ?? '');
        book.delete(n);
      }
    }

    const last = DAYS + 1;
    await as('clara', 'put', `/valuations/${number}`).send({ cutOff: dateOf(base, last) });
    const { body } = await as('vera', 'get', `/valuations/${number}`);
    const certified = await office.sql<{ version: string; quantity: string }>(
      `select b.version, sum(l.quantity)::int::text as quantity from certified_line l join pay_item i on i.id = l.pay_item_id
        join bill b on b.id = i.bill_id join drive d on d.id = l.drive_id where d.code = $1 group by b.version`,
      [drive],
    );
    expect(body.lines.map(({ version }: { version: string }) => version)).toEqual(['V1', 'V2']);
    for (const [index, line] of body.lines.entries()) {
      const measured = index === 0 ? measure(0, SECOND) : measure(SECOND, DAYS);
      expect(line.previousQuantity).toBe(
        certified.find(({ version }) => version === line.version)?.quantity ?? '0',
      );
      expect(Number(line.previousQuantity) + Number(line.quantity)).toBe(measured);
      expect(line.toDateAmount).toBe((measured * RATES[index]!).toFixed(2));
    }
  }
  for (let n = 1; n < number; n += 1)
    expect((await as('vera', 'get', `/valuations/${n}/verification`)).body).toMatchObject({
      differences: [],
    });
};

it('certified and drafted quantities always sum to the measure of the record', async () => {
  let drives = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 8, maxLength: 16 }), async (steps) => {
      drives += 1;
      const drive = `R${drives}`;
      await anotherDrive(office, drive);
      const starts = ['2027-01-01', dateOf('2027-03-01', SECOND)];
      for (const [index, rate] of RATES.entries())
        await aBill(office, `V${index + 1}`, starts[index]!, [{ ...ITEM, rate: String(rate) }], 'EUR', drive);
      await live(drive, steps);
    }),
    { numRuns: 8 },
  );
});

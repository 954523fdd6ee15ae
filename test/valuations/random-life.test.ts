import fc from 'fast-check';
import { aShift } from '../builders/shift.js';
import type { Office } from '../support/office.js';
import { aBill, booked, PLACE, startContract } from './contract.js';

// Whatever is posted late, counted again, reopened or removed, and whenever it is certified: what is certified and what is drafted
// sum to what the record measures. The model keeps, by day, how many bolts the last document named and whether it is countersigned.

const ITEM = { reference: 'B.1', unit: 'nr', rate: '10', decimals: 0 };
const DAYS = 12;

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

type Step =
  | { do: 'post'; day: number; bolts: number[] }
  | { do: 'reopen' | 'remove'; day: number }
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
  { weight: 1, arbitrary: fc.record({ do: fc.constantFrom('reopen' as const, 'remove' as const), day }) },
  {
    weight: 2,
    arbitrary: fc.record({ do: fc.constant('certify' as const), days: fc.integer({ min: 1, max: 4 }) }),
  },
);

const dateOf = (base: string, n: number): string =>
  new Date(Date.parse(base) + n * 86_400_000).toISOString().slice(0, 10);

/** One life of a drive of its own. */
const live = async (drive: string, steps: Step[]): Promise<void> => {
  const place = PLACE.replace(/\/N$/, `/${drive}`);
  const base = '2027-03-01';
  const as = (who: string, method: 'get' | 'put' | 'post' | 'delete', path: string) =>
    office.http[method](`${place}${path}`).set(office.headersOf(who));
  const book = new Map<number, { bolts: number; open: boolean }>();
  let [number, cutOff] = [1, -1];
  const measure = (until: number): number =>
    [...book].reduce((sum, [n, { bolts, open }]) => (n <= until && !open ? sum + bolts : sum), 0);

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
      book.set(one.day, { bolts: one.bolts.reduce((sum, bolts) => sum + bolts, 0), open: false });
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
      const shift = book.get(one.day);
      if (!shift || shift.open) continue;
      const url = `/shifts/${dateOf(base, one.day)}/day`;
      const stands = await as('anna', 'get', url);
      const reopened = await as('boris', 'post', `${url}/reopen`)
        .set('If-Match', stands.headers['etag'] ?? '')
        .send({ reason: 'looked at again' });
      expect(reopened.status).toBe(200);
      shift.open = true;
      if (one.do === 'remove') {
        await as('anna', 'delete', url).set('If-Match', reopened.headers['etag'] ?? '');
        book.delete(one.day);
      }
    }

    const last = DAYS + 1;
    await as('clara', 'put', `/valuations/${number}`).send({ cutOff: dateOf(base, last) });
    const { body } = await as('vera', 'get', `/valuations/${number}`);
    const [line] = body.lines;
    const certified = await office.sql<{ quantity: string }>(
      `select coalesce(sum(l.quantity), 0)::int::text as quantity from certified_line l join drive d on d.id = l.drive_id where d.code = $1`,
      [drive],
    );
    expect(line.previousQuantity).toBe(certified[0]?.quantity);
    expect(Number(line.previousQuantity) + Number(line.quantity)).toBe(measure(last));
    expect(line.toDateAmount).toBe((measure(last) * 10).toFixed(2));
  }
  for (let n = 1; n < number; n += 1)
    expect((await as('vera', 'get', `/valuations/${n}/verification`)).body).toMatchObject({
      differences: [],
    });
};

it('certified and drafted sum to the measure of the record at all times', async () => {
  let drives = 0;
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 6, maxLength: 14 }), async (steps) => {
      drives += 1;
      const drive = `R${drives}`;
      await office.http
        .put(PLACE.replace(/\/N$/, `/${drive}`))
        .set(office.headersOf('olga'))
        .send({
          name: 'Trial',
          startChainage: '1+200',
          endChainage: '2+200',
          direction: 1,
          boredDiameterM: '7',
          machine: 'M1',
        });
      await aBill(
        office,
        'V1',
        '2027-01-01',
        [{ ...ITEM, rule: { source: 'support', dimension: 'count' } }],
        'EUR',
        drive,
      );
      await live(drive, steps);
    }),
    { numRuns: 8 },
  );
}, 240_000);

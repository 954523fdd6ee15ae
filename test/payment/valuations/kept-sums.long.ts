import fc from 'fast-check';
import type pg from 'pg';
import type { Office } from '../../harness/office.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { aBill, aDay, anotherDrive, type Item, ITEMS, startContract } from './contract.js';

// A draft from cached sums of shifts equals, to the last digit and with the same digests, one that measures every record, whatever has been written
// since they were cached, by whomever. The oracle is the measuring itself, which is used for certification.

const BOLTS = { source: 'support', dimension: 'count', items: ['BOLT'] };
const BY_CLASS: Item[] = [
  { reference: 'G.1', unit: 'kg', rate: '1.1', decimals: 1, rule: { source: 'grouting', dimension: 'mass' } },
  { reference: 'G.2', unit: 'm', rate: '30', decimals: 1, rule: { source: 'grouting', dimension: 'length' } },
  { reference: 'C.1', unit: 'nr', rate: '10', decimals: 1, rule: { ...BOLTS, classes: ['A'], maxPerM: '3' } },
  { reference: 'C.2', unit: 'nr', rate: '12', decimals: 1, rule: { ...BOLTS, classes: ['B'], minPerM: '2' } },
];
const DAYS = 6;

let office: Office;
let client: pg.Client;
let project = 0;

beforeAll(async () => {
  office = await startContract();
  client = await serviceSession(office.url);
  project = (await office.sql<{ id: number }>('select id from project'))[0]!.id;
});

afterAll(async () => {
  await client.end();
  await office.close();
});

interface Day {
  /** bolts of a line that extends a metre into the next day's ground */
  bolts: number;
  groundClass: 'A' | 'B';
  mesh: boolean;
}

type Step =
  | ({ do: 'post'; day: number; countersigned: boolean } & Day)
  | { do: 'keep' }
  | { do: 'reopen' | 'remove' | 'dispute' | 'settle' | 'propose' | 'agree' | 'withdraw'; day: number }
  | { do: 'lump' | 'probe' | 'grout' | 'certify' | 'rate'; day: number };

const day = fc.integer({ min: 0, max: DAYS - 1 });
const content = {
  bolts: fc.integer({ min: 1, max: 9 }),
  groundClass: fc.constantFrom('A' as const, 'B' as const),
  mesh: fc.boolean(),
};
const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 6, arbitrary: fc.record({ do: fc.constant('keep' as const) }) },
  {
    weight: 5,
    arbitrary: fc.record({ do: fc.constant('post' as const), day, countersigned: fc.boolean(), ...content }),
  },
  {
    weight: 8,
    arbitrary: fc.record({
      do: fc.constantFrom('reopen', 'remove', 'dispute', 'settle', 'propose', 'agree', 'withdraw'),
      day,
    }) as fc.Arbitrary<Step>,
  },
  {
    weight: 5,
    arbitrary: fc.record({
      do: fc.constantFrom('lump', 'probe', 'grout', 'certify', 'rate'),
      day,
    }) as fc.Arbitrary<Step>,
  },
);

const dateOf = (n: number): string => `2027-03-0${n + 1}`;
const chainageOf = (n: number): string => `1+2${String(2 * n).padStart(2, '0')}`;

/** Caches the sums of a drive, as the service does. */
const keep = async (driveId: number): Promise<void> => {
  await client.query('begin');
  await client.query(`select set_config('drivebook.project', $1, true)`, [String(project)]);
  await client.query('select report_kept.keep_draft_sums($1, 0)', [driveId]);
  await client.query('commit');
};

/** The lines of a draft until a day, and the number of shifts whose cached sums are valid. */
const drafted = (
  driveId: number,
  cutOff: string,
): Promise<{ kept: string; measured: string; shifts: number }> =>
  takenBack(client, project, async () => {
    const lines = `(select json_agg(to_jsonb(l) order by l.pay_item_id)::text from draft_line_in($1, $2, %)  l)`;
    const [row] = await rowsOf<{ kept: string; measured: string; shifts: number }>(
      client,
      `select ${lines.replace('%', 'true')} as kept, ${lines.replace('%', 'false')} as measured,
        (select cardinality(shift_ids) from draft_kept_of($1, $2)) as shifts`,
      [driveId, cutOff],
    );
    return row!;
  });

/** A life of a separate drive. @returns the number of shifts, summed over its steps, for which cached sums were used */
const live = async (drive: string, steps: Step[]): Promise<number> => {
  const place = await anotherDrive(office, drive);
  await aBill(office, 'V1', '2027-01-01', [...ITEMS, ...BY_CLASS], 'EUR', drive);
  const [found] = await office.sql<{ id: number }>('select id from drive where code = $1', [drive]);
  const driveId = found!.id;
  /** A refused write changes nothing, and is ignored. */
  const tried = async (
    who: string,
    method: 'put' | 'post' | 'delete',
    path: string,
    body?: object,
  ): Promise<number> => {
    const url = `${place}${path}`;
    const resource = url.replace(/\/(reopen|countersign|agree|withdraw|settle|certify)$/, '');
    const stands = await office.http.get(resource).set(office.headersOf('vera'));
    const tag: string | undefined = stands.headers['etag'] ?? stands.body?.etag;
    return (
      await office.http[method](url)
        .set(office.headersOf(who))
        .set(stands.status === 200 && tag !== undefined ? { 'If-Match': tag } : {})
        .send(body ?? {})
    ).status;
  };
  const post = async (
    n: number,
    { bolts, groundClass, mesh }: Day,
    countersigned: boolean,
  ): Promise<void> => {
    const [from, to, beyond] = [
      chainageOf(n),
      chainageOf(n + 1),
      chainageOf(n + 1).replace(/.$/, (last) => String(Number(last) + 1)),
    ];
    const document = aDay(dateOf(n), n + 1, from, to, (shift) => {
      const filled = shift.withGround(groundClass, from, to).withSupport('BOLT', from, beyond, String(bolts));
      return mesh ? filled.withSupport('MESH', from, to, '7.5') : filled;
    });
    await tried('boris', 'post', `/shifts/${dateOf(n)}/day/reopen`, { reason: 'again' });
    await tried('anna', 'put', `/shifts/${dateOf(n)}/day`, document);
    if (countersigned) await tried('boris', 'post', `/shifts/${dateOf(n)}/day/countersign`);
  };
  const named = { contractorRepresentative: 'C', employerRepresentative: 'E' };
  let [number, rate, used] = [1, 10, 0];
  for (let n = 0; n < DAYS; n += 1) await post(n, { bolts: n + 1, groundClass: 'A', mesh: true }, n !== 3);
  await keep(driveId);
  for (const one of steps) {
    if (one.do === 'keep') await keep(driveId);
    else if (one.do === 'post') await post(one.day, one, one.countersigned);
    else if (one.do === 'reopen')
      await tried('boris', 'post', `/shifts/${dateOf(one.day)}/day/reopen`, { reason: 'x' });
    else if (one.do === 'remove') await tried('anna', 'delete', `/shifts/${dateOf(one.day)}/day`);
    else if (one.do === 'dispute')
      await tried('boris', 'post', '/quantity-disputes', {
        reference: 'B.1',
        sourceKey: `${dateOf(one.day)}/day/support/1`,
        reason: 'x',
      });
    else if (one.do === 'settle')
      await tried('clara', 'post', `/quantity-disputes/${one.day + 1}/settle`, { settlement: 'x' });
    else if (one.do === 'propose')
      await tried('boris', 'put', `/class-decisions/${one.day + 1}`, {
        from: chainageOf(one.day).replace(/.$/, (last) => String(Number(last) + 1)),
        to: chainageOf(one.day + 1),
        groundClass: 'B',
        ...named,
      });
    else if (one.do === 'agree') await tried('clara', 'post', `/class-decisions/${one.day + 1}/agree`, named);
    else if (one.do === 'withdraw')
      await tried('clara', 'post', `/class-decisions/${one.day + 1}/withdraw`, { reason: 'x' });
    else if (one.do === 'lump')
      await tried('clara', 'put', `/lump-progress/L.1/${dateOf(one.day)}`, {
        percent: String(10 * (one.day + 1)),
      });
    else if (one.do === 'probe')
      await tried('anna', 'put', `/probe-holes/H${one.day}`, {
        collar: chainageOf(one.day),
        lookOutDeg: '5',
        lengthM: '20',
        drilledAt: `${dateOf(one.day)}T08:00:00Z`,
      });
    else if (one.do === 'grout')
      await tried('anna', 'put', `/grouting-rounds/G${one.day}`, {
        ...{ purpose: 'pre_grouting', state: 'complete', from: '1+210', to: '1+230' },
        startedAt: `${dateOf(one.day)}T08:00:00Z`,
        endedAt: `${dateOf(one.day)}T12:00:00Z`,
        holes: [
          {
            ...{ name: 'A', collar: chainageOf(one.day), lookOutDeg: '5', lengthM: '20' },
            mixes: [{ material: 'Cement', massKg: String(100 + used) }],
          },
        ],
      });
    else if (one.do === 'rate') {
      rate += 1;
      await tried('clara', 'put', '/bills/V1/rules/B.2', {
        ...BOLTS,
        dimension: 'length',
        allowancePercent: String(rate),
      });
    } else {
      await tried('clara', 'put', `/valuations/${number}`, { cutOff: dateOf(one.day) });
      await tried('boris', 'post', `/valuations/${number}/agree`);
      if ((await tried('clara', 'post', `/valuations/${number}/certify`)) === 200) number += 1;
    }
    for (const cutOff of [dateOf(2), '2027-12-31']) {
      const { kept, measured, shifts } = await drafted(driveId, cutOff);
      expect([one, cutOff, kept]).toEqual([one, cutOff, measured]);
      used += shifts;
    }
  }
  return used;
};

it('a draft from stored sums equals the draft from all records, whatever was written since', async () => {
  let [drives, used] = [0, 0];
  await fc.assert(
    fc.asyncProperty(fc.array(step, { minLength: 12, maxLength: 16 }), async (steps) => {
      drives += 1;
      used += await live(`K${drives}`, steps);
    }),
    { numRuns: 15, endOnFailure: true }, // shrinking a failure would take minutes
  );
  expect(used).toBeGreaterThan(10 * drives);
});

it('a shift that counts only by the passage of time is measured', async () => {
  const place = await anotherDrive(office, 'SILENT');
  await aBill(office, 'V1', '2027-01-01', ITEMS, 'EUR', 'SILENT');
  const [drive] = await office.sql<{ id: number }>(`select id from drive where code = 'SILENT'`);
  /** For the passage of time: bypasses the history. */
  const unwritten = (sql: string): Promise<unknown> =>
    office.sql(`begin; set local session_replication_role = replica; ${sql}; commit`);
  await unwritten(
    `insert into acceptance_rule (project_id, valid_from, days, clause, pays) values (${project}, '2020-01-01', 5, 'x', true)`,
  );
  const document = aDay('2027-03-01', 1, '1+200', '1+202', (shift) =>
    shift.withSupport('BOLT', '1+200', '1+202', '7'),
  );
  const posted = await office.http
    .put(`${place}/shifts/2027-03-01/day`)
    .set(office.headersOf('anna'))
    .send(document);
  expect(posted.status).toBe(201);
  await keep(drive!.id);
  const before = await drafted(drive!.id, '2027-12-31');
  expect(before.kept).toBe(before.measured);
  await unwritten(
    `update shift set submitted_at = submitted_at - interval '10 days' where drive_id = ${drive!.id}`,
  );
  const after = await drafted(drive!.id, '2027-12-31');
  expect(after.measured).not.toBe(before.measured);
  expect(after.kept).toBe(after.measured);
});

import { aShift } from '../../builders/shift.js';
import type { Office } from '../../harness/office.js';
import { rowsOf, serviceSession, takenBack } from '../../harness/service-role.js';
import { aDay, booked, sent, startContract } from './contract.js';
import { at, DAY, groutingSite, hole, mix, ROUND, toDate } from './grouting-round.js';

// The shift to which grouting belongs, and that certified grouting is not paid again. Worked by hand.

let office: Office;

beforeAll(async () => {
  office = await startContract();
});

afterAll(() => office.close());

const { aDrive, aProbe, aRound, drafted, certified, sourcesOf, aMonth } = groutingSite(() => office);

it('certified quantities are not paid again where the sums of shifts are stored', async () => {
  const place = await aMonth();
  await drafted(place, 1);
  await certified(place, 1);
  const next = '2027-04-01';
  await booked(office, next, aDay(next, 2, '1+202', '1+204'), place);
  await aRound(place, 'R2', {
    ...{ purpose: 'post_grouting', state: 'complete', from: '1+200', to: '1+202' },
    ...{ startedAt: at('08:00:00', next), endedAt: at('12:00:00', next) },
    holes: [
      hole('G1', {
        ...{ startedAt: at('09:00:00', next), endedAt: at('09:45:00', next) },
        mixes: [mix('Micro cement', '100', '130')],
      }),
    ],
  });
  const [drive] = await office.sql<{ id: number; project: number }>(
    'select id, project_id as project from drive where code = $1',
    [place.split('/').at(-1)],
  );
  const { id, project } = drive!;
  const client = await serviceSession(office.url);
  try {
    const keep = async (): Promise<void> => {
      await client.query('begin');
      await client.query(`select set_config('drivebook.project', $1, true)`, [String(project)]);
      await client.query('select report_kept.keep_draft_sums($1, 0)', [id]);
      await client.query('commit');
    };
    await keep();
    const lines = (isKept: boolean) =>
      `(select json_agg(to_jsonb(l) order by l.pay_item_id)::text from draft_line_in($1, '2027-04-30', ${isKept}) l)`;
    const [both] = await takenBack(client, project, () =>
      rowsOf<{ kept: string; measured: string; shifts: number }>(
        client,
        `select ${lines(true)} as kept, ${lines(false)} as measured,
          (select cardinality(shift_ids) from draft_kept_of($1, '2027-04-30')) as shifts`,
        [id],
      ),
    );
    expect(both!.shifts).toBe(2);
    expect(both!.kept).toBe(both!.measured);
  } finally {
    await client.end();
  }
  // one hole of 10 m, 45 min, 100 kg and 130 l more; no probe hole
  const second = await drafted(place, 2, '2027-04-30');
  expect(
    Object.fromEntries(second.lines.map((line) => [line.reference, [line.previousQuantity, line.quantity]])),
  ).toEqual({
    'G.1': ['2', '1'],
    'G.2': ['44.5', '10.0'],
    'G.3': ['2.50', '0.75'],
    'G.4': ['1500.25', '100.00'],
    'G.5': ['1.10025', '0.10000'],
    'G.6': ['1.8705', '0.1300'],
    'G.7': ['440.0', '0.0'],
    'G.8': ['0.0', '10.0'],
    'P.1': ['60.0', '0.0'],
    'P.2': ['30.0', '0.0'],
    'P.3': ['1', '0'],
  });
});

it('a grouted hole that ends at a shift change belongs to the shift that ends, a probe hole drilled then to the next', async () => {
  const place = await aDrive();
  const signed = async (date: string, name: string, document: object): Promise<void> => {
    const url = `${place}/shifts/${date}/${name}`;
    await sent(office, 'anna', 'put', url, document);
    const { headers } = await office.http.get(url).set(office.headersOf('boris'));
    const answer = await office.http
      .post(`${url}/countersign`)
      .set(office.headersOf('boris'))
      .set('If-Match', headers['etag'] ?? '');
    expect(answer.status).toBe(200);
  };
  // 06:00 to 18:00, 18:00 to 06:00, and the next day's
  const next = '2027-03-02';
  await signed(DAY, 'day', aDay(DAY, 1, '1+200', '1+202'));
  await signed(
    DAY,
    'night',
    aShift(DAY, 'night').submitted().withActivity('MAINT', '18:00', '+1 06:00').build(),
  );
  await signed(next, 'day', aDay(next, 2, '1+202', '1+204'));
  await aRound(place, 'R1', {
    ...ROUND,
    endedAt: at('12:00:00', next),
    holes: [
      hole('EVENING', { endedAt: at('18:00:00'), mixes: [mix('Micro cement', '1', '1')] }),
      hole('AFTER', { endedAt: at('18:00:01'), mixes: [mix('Micro cement', '10', '1')] }),
      hole('MORNING', { endedAt: at('06:00:00', next), mixes: [mix('Micro cement', '100', '1')] }),
      hole('LATER', { endedAt: at('06:00:01', next), mixes: [mix('Micro cement', '1000', '1')] }),
    ],
  });
  // the night that begins at 18:00 has not been posted
  await aProbe(place, 'LAST', { lengthM: '10', drilledAt: at('17:59:59', next) });
  await aProbe(place, 'NIGHT', { lengthM: '20', drilledAt: at('18:00:00', next) });
  await aProbe(place, 'MORNING', { lengthM: '40', drilledAt: at('06:00:00', next) });
  // the night belongs to the day on which it begins
  expect(toDate(await drafted(place, 1, DAY))).toMatchObject({ 'G.1': '3', 'G.4': '111.00' });
  await certified(place, 1);
  expect(toDate(await drafted(place, 2, next))).toMatchObject({
    ...{ 'G.1': '4', 'G.4': '1111.00' },
    'P.1': '50.0', // LAST and MORNING
  });
  const shiftsOf = async (number: number) =>
    (await sourcesOf(place, number, 'G.1')).map(({ sourceKey, shiftDate, shiftName }) => [
      sourceKey.split('/').at(-1),
      `${shiftDate} ${shiftName}`,
    ]);
  expect(Object.fromEntries(await shiftsOf(1))).toEqual({
    EVENING: `${DAY} day`,
    AFTER: `${DAY} night`,
    MORNING: `${DAY} night`,
  });
  expect(await shiftsOf(2)).toEqual([['LATER', `${next} day`]]);
});

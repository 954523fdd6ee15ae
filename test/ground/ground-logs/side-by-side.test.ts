import { aShift } from '../../builders/shift.js';
import { type Parties, startParties } from '../classes/parties.js';
import { LOG, Q_INPUT, RMR_INPUT } from './logs.js';

// Several logs at one place: by face of the opening and by party. Which one counts is agreed by two people, or follows a stated rule.

type Row = Record<string, unknown>;

let parties: Parties;
let url: string;

/** The contractor's log of the face and the supervisor's of the crown, which overlap by 5 m: bored to 50 m. */
const FACE = { ...LOG, mappedFor: 'contractor', q: Q_INPUT, rmr: RMR_INPUT }; // [10, 20): Q 13.33 good, RMR 69 II
const CROWN = {
  ...LOG,
  from: '1+215',
  to: '1+225',
  mappedPlace: 'crown',
  mappedFor: 'supervisor',
  rqdPercent: 30,
  q: Q_INPUT, // 30/9 · 1.5 = 5, fair
  rmr: RMR_INPUT, // 12 + 8 + 15 + 20 + 10 − 5 = 60, III
};

const put = async (name: string, log: object, who = 'gina') =>
  parties.office.as(who).http.put(`${url}/ground-logs/${name}`).send(log);

const step = async (who: string, name: string, what: string, body: object = {}) =>
  parties.office.as(who).http.post(`${url}/ground-logs/${name}/${what}-as-governing`).send(body);

const read = async <T = Row[]>(path: string): Promise<T> => {
  const { status, body, text } = await parties.office.as('vera').http.get(`${url}${path}`);
  if (status !== 200) throw new Error(text);
  return body as T;
};

const byQ = async (): Promise<unknown[][]> =>
  (await read('/rock-mass'))
    .filter(({ rating }) => rating === 'q')
    .map((row) => ['class', 'coverage', 'lengthM', 'decidedM', 'undecidedM'].map((name) => row[name]));

const at = (chainage: string) =>
  read<{ used: Row[]; isUndecided: boolean; rule: string; logs: Row[] }>(
    `/rock-mass/at?chainage=${encodeURIComponent(chainage)}`,
  );

beforeAll(async () => {
  parties = await startParties();
  url = parties.url();
  const shift = aShift().withStroke(1, '1+200', '1+250', '06:00', '10:00').build();
  const posted = await parties.office.as('boris').http.put(`${url}/shifts/2027-03-01/day`).send(shift);
  expect(posted.status).toBe(201);
  expect((await put('FACE', FACE)).body).toMatchObject({
    mappedPlace: 'face',
    mappedFor: 'contractor',
    governing: null,
  });
  expect((await put('CROWN', CROWN)).body).toMatchObject({ mappedPlace: 'crown', mappedFor: 'supervisor' });
});

afterAll(() => parties.office.close());

it('without a decision the lowest rating counts, and what differs in class is undecided', async () => {
  // by hand, of 50 m: good [10, 15); fair [15, 25), of which both logs cover [15, 20); the rest has no log
  expect(await byQ()).toEqual([
    ['good', 'rated', '5.000', '0.000', '0.000'],
    ['fair', 'rated', '10.000', '0.000', '5.000'],
    [null, 'not_logged', '35.000', '0.000', '0.000'],
  ]);
  expect(await at('1+217')).toMatchObject({
    used: [
      { rating: 'q', log: 'CROWN', value: 5, class: 'fair', basis: 'undecided' },
      { rating: 'rmr', log: 'CROWN', value: 60, class: 'III', basis: 'undecided' },
    ],
    isUndecided: true,
    rule: expect.stringMatching(
      /^The log agreed as governing counts; without one, .*the one of the lowest rating/,
    ),
    logs: [
      { name: 'CROWN', mappedPlace: 'crown', mappedFor: 'supervisor' },
      { name: 'FACE', mappedPlace: 'face', mappedFor: 'contractor' },
    ],
  });
  expect(await at('1+212')).toMatchObject({ used: [{ log: 'FACE', basis: 'only' }, {}], isUndecided: false });
  expect(await at('1+220')).toMatchObject({ used: [{ log: 'CROWN', basis: 'only' }, {}] }); // half open
  expect(await at('1+240')).toMatchObject({ used: [], logs: [], isUndecided: false });
  // only logs that overlap the part asked for: FACE ends at 20 m, CROWN begins at 15 m
  const named = (low: number, high: number) =>
    parties.office.sql(
      `select distinct u.name from drive d cross join lateral report.ground_log_used_of(d.id, ${low}, ${high}) u order by 1`,
    );
  expect(await named(20, 25)).toEqual([{ name: 'CROWN' }]);
  expect(await named(10, 15)).toEqual([{ name: 'FACE' }]);
});

it('the governing log is proposed by one and agreed by another, for a reason', async () => {
  const proposed = await step('gina', 'FACE', 'propose', { reason: 'Crown seen from below only' });
  expect(proposed.body.governing).toEqual({
    state: 'proposed',
    reason: 'Crown seen from below only',
    proposedBy: 'gina',
    proposedAt: expect.any(String),
    agreedBy: null,
    agreedAt: null,
    proposedFor: null, // a project without parties
    agreedFor: null,
    signatures: null,
  });
  expect((await byQ())[1]).toEqual(['fair', 'rated', '10.000', '0.000', '5.000']); // a proposal does not govern
  const twice = await step('gina', 'FACE', 'propose', { reason: 'again' });
  expect([twice.status, twice.body.detail]).toEqual([
    409,
    'ground log FACE is proposed as the governing log',
  ]);
  expect((await step('gina', 'FACE', 'agree')).status).toBe(403); // geologists propose
  const agreed = await step('boris', 'FACE', 'agree');
  expect(agreed.body.governing).toMatchObject({ state: 'agreed', proposedBy: 'gina', agreedBy: 'boris' });
  // the face log governs its 10 m, the crown log counts beyond
  expect(await byQ()).toEqual([
    ['good', 'rated', '10.000', '10.000', '0.000'],
    ['fair', 'rated', '5.000', '0.000', '0.000'],
    [null, 'not_logged', '35.000', '0.000', '0.000'],
  ]);
  expect(await at('1+217')).toMatchObject({
    used: [
      { log: 'FACE', class: 'good', basis: 'decided' },
      { log: 'FACE', class: 'II', basis: 'decided' },
    ],
    isUndecided: false,
  });
});

it('what is agreed does not change, and one log governs a place', async () => {
  const changed = await put('FACE', { ...FACE, rqdPercent: 50 });
  expect([changed.status, changed.body.detail]).toEqual([
    409,
    'ground log FACE is agreed as the governing log: withdraw that before you change it',
  ]);
  const removed = await parties.office.as('gina').http.delete(`${url}/ground-logs/FACE`);
  expect([removed.status, removed.body.detail]).toEqual([
    409,
    'ground log FACE is agreed as the governing log: withdraw that before you remove it',
  ]);
  expect((await put('FACE', FACE)).body.governing.state).toBe('agreed'); // putting the same again changes nothing
  await step('boris', 'CROWN', 'propose', { reason: 'closer' });
  const second = await step('clara', 'CROWN', 'agree');
  expect([second.status, second.body.errors[0].detail]).toEqual([
    409,
    'ground log FACE is agreed as the governing log of a part of this place: withdraw it first',
  ]);
});

it('agreeing and withdrawing need another person', async () => {
  const own = await step('boris', 'CROWN', 'agree');
  expect(own.status).toBe(409); // FACE still governs
  const withdrawn = await step('clara', 'FACE', 'withdraw', { reason: 'crown was seen from a lift' });
  expect([withdrawn.status, withdrawn.body.governing]).toEqual([200, null]);
  const again = await step('boris', 'CROWN', 'agree');
  expect([again.status, again.body.detail]).toEqual([
    403,
    'ground log CROWN was proposed as the governing log by boris: another person agrees to it',
  ]);
  expect((await step('clara', 'CROWN', 'agree')).status).toBe(200);
  const byProposer = await step('boris', 'CROWN', 'withdraw', { reason: 'no' });
  expect(byProposer.status).toBe(403);
  expect((await step('clara', 'CROWN', 'withdraw', { reason: ' ' })).status).toBe(422);
  expect((await step('clara', 'CROWN', 'withdraw', { reason: 'no' })).status).toBe(200);
});

it('a proposal is removed by the person who made it', async () => {
  await step('gina', 'FACE', 'propose', { reason: 'x' });
  const { status, body } = await parties.office
    .as('gina')
    .http.delete(`${url}/ground-logs/FACE/propose-as-governing`);
  expect([status, body.governing]).toEqual([200, null]);
  const none = await parties.office.as('gina').http.delete(`${url}/ground-logs/FACE/propose-as-governing`);
  expect(none.status).toBe(409);
  expect((await step('gina', 'Z', 'propose', { reason: 'x' })).status).toBe(404);
});

it('logs of one face and party cannot overlap; those of different ones may', async () => {
  const twice = await put('FACE2', { ...FACE, from: '1+219', to: '1+221' });
  expect([twice.status, twice.body.errors[0].detail]).toEqual([
    409,
    'the log overlaps FACE, 1+210.000 to 1+220.000: only one log of the face may cover a place for the contractor',
  ]);
  const other = { ...LOG, from: '1+230', to: '1+235', q: Q_INPUT };
  for (const mappedPlace of ['face', 'crown', 'left_wall', 'right_wall', 'invert', 'full_section'])
    for (const mappedFor of [undefined, 'contractor', 'supervisor', 'client', 'designer'])
      expect(
        (await put(`L-${mappedPlace}-${mappedFor ?? 'none'}`, { ...other, mappedPlace, mappedFor })).status,
      ).toBe(201);
  // 30 logs of one class: they agree, and a page continues where the last one ended
  expect(await at('1+231')).toMatchObject({
    used: [
      { log: 'L-crown-client', class: 'good', basis: 'agreeing' },
      { rating: 'rmr', basis: 'not_rated' },
    ],
    isUndecided: false,
  });
  const names: string[] = [];
  let after = '';
  do {
    const page = await read<{ items: { name: string }[]; next: string | null }>(
      `/ground-logs?first=7&from=1%2B230&to=1%2B235${after}`,
    );
    names.push(...page.items.map(({ name }) => name));
    after = page.next === null ? '' : `&after=${page.next}`;
  } while (after);
  expect([names.length, new Set(names).size]).toEqual([30, 30]);
});

it.each([
  [{ mappedPlace: 'roof' }, '/mappedPlace'],
  [{ mappedFor: 'passer-by' }, '/mappedFor'],
])('%j is refused', async (more, pointer) => {
  const { status, body } = await put('X', { ...LOG, ...more });
  expect([status, body.errors[0].pointer]).toEqual([422, pointer]);
});

it('is read and decided by GraphQL too', async () => {
  const ask = async (who: string, query: string) =>
    (await parties.office.as(who).http.post('/graphql').send({ query })).body;
  const named = 'project: "P1", drive: "N", name: "FACE"';
  expect(
    await ask(
      'gina',
      `mutation { log: proposeGroundLogAsGoverning(${named}, reason: "x") { governing { state reason } } }`,
    ),
  ).toEqual({ data: { log: { governing: { state: 'proposed', reason: 'x' } } } });
  expect(
    await ask('boris', `mutation { log: agreeGroundLogAsGoverning(${named}) { governing { state } } }`),
  ).toEqual({
    data: { log: { governing: { state: 'agreed' } } },
  });
  const place = `{ drive(project: "P1", drive: "N") { rockMassAt(chainage: "1+217") { isUndecided used { rating log basis } logs { name } } } }`;
  expect((await ask('vera', place)).data.drive.rockMassAt).toEqual({
    isUndecided: false,
    used: [
      { rating: 'q', log: 'FACE', basis: 'decided' },
      { rating: 'rmr', log: 'FACE', basis: 'decided' },
    ],
    logs: [{ name: 'CROWN' }, { name: 'FACE' }],
  });
  expect(
    await ask(
      'boris',
      `mutation { log: withdrawGroundLogAsGoverning(${named}, reason: "y") { governing { state } } }`,
    ),
  ).toEqual({ data: { log: { governing: null } } });
});

it('a place outside the drive is refused', async () => {
  const { status, body } = await parties.office.as('vera').http.get(`${url}/rock-mass/at?chainage=1%2B199`);
  expect([status, body.errors[0].pointer]).toEqual([422, '/chainage']);
});

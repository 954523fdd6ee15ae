import { createHash } from 'node:crypto';
import { D, FORM, onVersion, P, type Person, post, put, remove, type Step } from './step.js';
import { BOLTS } from './set-up.js';

const NOTE = 'a note of no use';
const DIGEST = createHash('sha256').update(NOTE).digest('hex');
const FROM = { validFrom: '2030-01-01' };
const CODE = { code: 'SPARE' };
const NAME = { name: 'SPARE' };
const STRETCH = { from: '1+210', to: '1+211' };
const MACHINE = { name: 'Spare machine', discCount: 50, discRadiusMm: '241.3' };
const ITEM = { reference: 'S.1', description: 'Spare', unit: 'nr', decimals: 0, quantity: '1', rate: '1' };

type Keys = Record<string, string>;

/** A record that is put and removed again; `between`: what is sent to it in between. */
const spare = (as: Person, path: string, keys: Keys, body: object, between: Step[] = []): Step[] => [
  put(as, path, keys, body),
  ...between,
  remove(as, path, keys),
];

/** The same for records whose removal names their version. */
const versioned = (as: Person, path: string, keys: Keys, body: object, between: Step[] = []): Step[] => [
  put(as, path, keys, body),
  ...between,
  onVersion(remove(as, path, keys)),
];

const GOVERNING = `${D}/ground-logs/{name}/propose-as-governing`;

/** One of every removable record: nothing in the story refers to it. */
export const SPARES: Step[] = [
  ...spare('owner', `${P}/parties/{party}`, { party: 'SPARE' }, { name: 'Spare', kind: 'contractor' }),
  ...spare('owner', `${P}/members/{subject}`, { subject: 'visitor' }, { roles: ['viewer'] }),
  ...spare('owner', `${P}/webhooks/{name}`, NAME, {
    url: 'https://spare.example/',
    types: ['alert.raised'],
    enabled: false,
  }),
  remove('owner', `${P}/jobs/{number}`, { number: '1' }),
  post('owner', `${P}/handover`, {}, {}),
  post(
    'owner',
    `${P}/import-jobs/{kind}`,
    { kind: 'zones' },
    { file: 'code,name\nL8,Half way\n', mode: 'valid-rows' },
    FORM,
  ),
  ...spare(
    'owner',
    `${P}/calendar-shifts/{code}`,
    { code: 'late' },
    { startTime: '18:00', endTime: '20:00', weekdays: [7] },
  ),
  ...spare('owner', `${P}/calendars/{validFrom}`, FROM, {
    shifts: [{ name: 'day', startTime: '07:00', endTime: '15:00', weekdays: [1] }],
  }),
  ...spare('owner', `${P}/closures/{code}`, CODE, {
    name: 'Spare',
    fromDate: '2028-12-24',
    toDate: '2028-12-26',
    planned: true,
  }),
  ...spare('owner', `${P}/zones/{code}`, CODE, { name: 'Spare' }),
  ...spare('owner', `${P}/activity-codes/{code}`, CODE, { description: 'Spare', countsAs: 'waiting' }),
  ...spare('owner', `${P}/equipment/{code}`, CODE, { description: 'Spare' }),
  ...spare(
    'owner',
    `${P}/ground-classes/{code}`,
    CODE,
    { description: 'Spare' },
    spare('owner', `${P}/ground-classes/{code}/standard-support`, CODE, { edition: '1', items: [BOLTS] }),
  ),
  ...spare('owner', `${P}/support-items/{code}`, CODE, { kind: 'bolt', unit: 'nr', description: 'Spare' }),
  ...spare('owner', `${P}/machines/{machine}`, { machine: 'SPARE' }, MACHINE, [
    onVersion(
      put(
        'owner',
        `${P}/machines/{machine}`,
        { machine: 'SPARE' },
        { ...MACHINE, ...FROM, revision: 'B', discCount: 48 },
      ),
    ),
    remove('owner', `${P}/machines/{machine}/revisions/{validFrom}`, { machine: 'SPARE', ...FROM }),
  ]),
  ...spare(
    'owner',
    D,
    { drive: 'SPARE' },
    { name: 'Spare', startChainage: '1+200', endChainage: '2+200', direction: 1, boredDiameterM: '7' },
  ),
  ...spare('owner', `${P}/doubt-limits/{validFrom}`, FROM, { mostRateMPerH: '20' }),
  ...spare('owner', `${P}/acceptance-rules/{validFrom}`, FROM, { days: 7, clause: '12.3' }),
  ...spare('owner', `${P}/alert-rules/{code}`, CODE, { kind: 'shift_late', threshold: '12' }),
  ...spare('owner', `${P}/notice-rules/{code}`, CODE, { name: 'Spare', days: 14, clause: '20.1' }),
  ...versioned(
    'poster',
    `${D}/shifts/{date}/{shift}`,
    { date: '2027-03-08', shift: 'day' },
    { state: 'draft' },
  ),
  post('engineer', `${D}/attachments`, { text: 'spare' }, { caption: 'Of no use', file: NOTE }, FORM),
  remove('engineer', `${D}/attachments/{digest}`, { digest: DIGEST }),
  ...spare('engineer', `${D}/probe-holes/{name}`, NAME, { collar: '1+201', lookOutDeg: '5', lengthM: '20' }),
  ...spare('engineer', `${D}/investigations/{name}`, NAME, {
    method: 'reflection_seismic',
    from: '1+202',
    to: '1+300',
    face: '1+202',
    madeAt: '2027-03-01T20:00:00Z',
    madeBy: 'Gerda',
  }),
  ...spare('engineer', `${D}/encounters/{name}`, NAME, {
    kind: 'fractured',
    ...STRETCH,
    source: 'mapping',
    metAt: '2027-03-01T18:00:00Z',
    metBy: 'Gerda',
  }),
  ...spare('engineer', `${D}/inflow-measurements/{name}`, NAME, {
    place: 'interval',
    ...STRETCH,
    method: 'bucket',
    measuredAt: '2027-03-01T09:00:00Z',
    flowLPerMin: '2.5',
  }),
  ...spare('engineer', `${D}/water-tests/{name}`, NAME, {
    hole: 'PH1',
    fromDepthM: '5',
    toDepthM: '8',
    testedAt: '2027-03-01T10:00:00Z',
    steps: [{ gaugeBar: '5', flowLPerMin: '2', durationMin: '10' }],
  }),
  ...spare('engineer', `${D}/grouting-rounds/{name}`, NAME, {
    purpose: 'pre_grouting',
    state: 'under_way',
    ...STRETCH,
    startedAt: '2027-03-01T12:00:00Z',
    holes: [{ name: 'G1', collar: '1+201', lookOutDeg: '5', lengthM: '20' }],
  }),
  ...spare('owner', `${D}/water-limits/{validFrom}`, FROM, { per100mLPerMin: '30', pumpingLPerMin: '2000' }),
  ...spare('supervisor', `${D}/hold-points/{code}`, CODE, {
    chainage: '1+450',
    reason: 'None that is known',
    side: 'client',
    role: 'Site geologist',
  }),
  ...spare('engineer', `${D}/discontinuities/{name}`, NAME, {
    chainage: '1+201',
    type: 'joint',
    dipDeg: '60',
    dipDirectionDeg: '120',
  }),
  ...spare('engineer', `${D}/overbreak/{name}`, NAME, { ...STRETCH, cause: 'geological', volumeM3: '1' }),
  ...spare(
    'engineer',
    `${D}/ground-logs/{name}`,
    NAME,
    { from: '1+201', to: '1+202', mappedBy: 'Gerda', mappedAt: '2027-03-01T09:00:00Z' },
    [
      post('engineer', GOVERNING, NAME, { reason: 'Mapped by both sides' }),
      remove('engineer', GOVERNING, NAME),
    ],
  ),
  ...versioned(
    'engineer',
    `${D}/class-decisions/{number}`,
    { number: '2' },
    { from: '1+201', to: '1+202', groundClass: 'A' },
  ),
  ...spare('owner', `${D}/design-sections/{name}`, NAME, {
    edition: '1',
    from: '1+500',
    to: '1+600',
    items: [{ item: 'BOLT', zone: 'L1', quantityPerM: '2' }],
  }),
  ...spare('engineer', `${D}/notices/{code}`, CODE, {
    rule: 'CLAIM',
    happenedAt: '2027-03-01T08:00:00Z',
    concerns: 'Nothing',
  }),
  ...spare(
    'engineer',
    `${D}/programmes/{programme}`,
    { programme: 'SPARE' },
    {
      points: [
        { date: '2027-03-01', chainage: '1+200' },
        { date: '2027-04-01', chainage: '1+300' },
      ],
    },
  ),
  ...spare(
    'engineer',
    `${D}/baselines/{baseline}`,
    { baseline: 'SPARE' },
    {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '10' }],
    },
  ),
  ...spare(
    'engineer',
    `${D}/entitlements/{entitlement}`,
    { entitlement: 'SPARE' },
    {
      rule: 'proportional',
      tenderedWeeks: '10',
      workingHoursPerWeek: '100',
      items: [{ code: 'PROBE', source: 'probe_metres', hoursPerUnit: '1', tenderedQuantity: '5' }],
    },
  ),
  ...versioned(
    'qs',
    `${D}/bills/{version}`,
    { version: 'SPARE' },
    { ...FROM, items: [ITEM] },
    spare(
      'qs',
      `${D}/bills/{version}/rules/{reference}`,
      { version: 'SPARE', reference: 'S.1' },
      { source: 'support', dimension: 'count', kinds: ['bolt'] },
    ),
  ),
  ...spare(
    'qs',
    `${D}/lump-progress/{reference}/{day}`,
    { reference: 'L.1', day: '2027-03-02' },
    { percent: '20' },
  ),
  ...spare('qs', `${D}/valuations/{number}`, { number: '2' }, { cutOff: '2027-03-02' }),
];

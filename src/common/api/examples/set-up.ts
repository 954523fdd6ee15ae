import { D, FORM, P, onVersion, post, put, type Step } from './step.js';

const EVERY_DAY = [1, 2, 3, 4, 5, 6, 7];
export const BOLTS = { item: 'BOLT', zone: 'L1', quantityPerM: '2' };

const drive = (name: string) => ({
  name,
  startChainage: '1+200',
  endChainage: '2+200',
  direction: 1,
  boredDiameterM: '7',
});

const MACHINE = { name: 'Invented machine', discCount: 50, discRadiusMm: '241.3' };

/** The owner of the installation sets up a project: parties, people, calendar, codes, classes, items, machines, drives. */
export const SET_UP: Step[] = [
  put('owner', P, {}, { name: 'Invented tunnel', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }),
  put(
    'owner',
    `${P}/parties/{party}`,
    { party: 'JV' },
    { name: 'Invented joint venture', kind: 'contractor' },
  ),
  put('owner', `${P}/parties/{party}`, { party: 'RAIL' }, { name: 'Invented railway', kind: 'client' }),
  put('owner', `${P}/members/{subject}`, { subject: 'poster' }, { roles: ['shift_poster'], party: 'JV' }),
  put('owner', `${P}/members/{subject}`, { subject: 'engineer' }, { roles: ['engineer'], party: 'JV' }),
  put('owner', `${P}/members/{subject}`, { subject: 'supervisor' }, { roles: ['supervisor'], party: 'RAIL' }),
  put('owner', `${P}/members/{subject}`, { subject: 'qs' }, { roles: ['qs'], party: 'RAIL' }),
  post('owner', `${P}/api-keys`, {}, { name: 'dashboard', scopes: ['record.read'] }),
  put(
    'owner',
    `${P}/webhooks/{name}`,
    { name: 'BOARD' },
    { url: 'https://board.example/drivebook', types: ['alert.raised', 'alert.cleared'] },
  ),
  post('owner', `${P}/webhooks/{name}/rotate-secret`, { name: 'BOARD' }, { graceH: 24 }),
  post('owner', `${P}/webhooks/{name}/send-test`, { name: 'BOARD' }),
  post('owner', `${P}/webhooks/{name}/deliveries/{number}/redeliver`, { name: 'BOARD', number: '1' }),
  post('owner', `${P}/handover`, {}, {}),
  put(
    'owner',
    `${P}/calendar-shifts/{code}`,
    { code: 'day' },
    { startTime: '06:00', endTime: '18:00', weekdays: EVERY_DAY },
  ),
  put(
    'owner',
    `${P}/calendar-shifts/{code}`,
    { code: 'night' },
    { startTime: '18:00', endTime: '06:00', weekdays: EVERY_DAY.slice(0, -1) },
  ),
  put(
    'owner',
    `${P}/calendars/{validFrom}`,
    { validFrom: '2029-01-01' },
    { shifts: [{ name: 'day', startTime: '07:00', endTime: '15:00', weekdays: [1] }] },
  ),
  put(
    'owner',
    `${P}/closures/{code}`,
    { code: 'C' },
    { name: 'Break', fromDate: '2027-12-24', toDate: '2027-12-26', planned: true },
  ),
  put('owner', `${P}/zones/{code}`, { code: 'L9' }, { name: 'Far behind' }),
  put('owner', `${P}/activity-codes/{code}`, { code: 'BORE' }, { description: 'Boring', countsAs: 'boring' }),
  post(
    'owner',
    `${P}/imports/{kind}`,
    { kind: 'activity-codes' },
    { file: 'code,description,countsAs\nCREW,Change of crew,waiting\n' },
    FORM,
  ),
  put(
    'owner',
    `${P}/activity-codes/{code}`,
    { code: 'WAIT' },
    { description: 'Waiting', countsAs: 'waiting' },
  ),
  put('owner', `${P}/equipment/{code}`, { code: 'BELT' }, { description: 'Belt' }),
  put('owner', `${P}/ground-classes/{code}`, { code: 'A' }, { description: 'Good rock' }),
  put('owner', `${P}/ground-classes/{code}`, { code: 'C' }, { description: 'Poor rock' }),
  put(
    'owner',
    `${P}/support-items/{code}`,
    { code: 'BOLT' },
    { kind: 'bolt', unit: 'nr', description: 'Bolt 3 m', lengthM: '3' },
  ),
  put(
    'owner',
    `${P}/support-items/{code}`,
    { code: 'PLATE' },
    { kind: 'mesh', unit: 'm2', description: 'Plates' },
  ),
  put(
    'owner',
    `${P}/ground-classes/{code}/standard-support`,
    { code: 'A' },
    { edition: '1', items: [BOLTS] },
  ),
  put('owner', `${P}/machines/{machine}`, { machine: 'M1' }, MACHINE),
  onVersion(
    put(
      'owner',
      `${P}/machines/{machine}`,
      { machine: 'M1' },
      { ...MACHINE, validFrom: '2027-03-03', revision: 'B', discCount: 48 },
    ),
  ),
  put('owner', D, {}, { ...drive('North'), machine: 'M1' }),
  put('owner', D, { drive: 'S' }, drive('South')),
  put('owner', `${P}/doubt-limits/{validFrom}`, { validFrom: '2027-03-01' }, { mostRateMPerH: '20' }),
  put('owner', `${P}/acceptance-rules/{validFrom}`, { validFrom: '2027-03-01' }, { days: 7, clause: '12.3' }),
  post(
    'engineer',
    `${P}/acceptance-rules/{validFrom}/agree`,
    { validFrom: '2027-03-01' },
    { days: 7, clause: '12.3' },
  ),
  post(
    'supervisor',
    `${P}/acceptance-rules/{validFrom}/agree`,
    { validFrom: '2027-03-01' },
    { days: 7, clause: '12.3' },
  ),
  put(
    'owner',
    `${P}/alert-rules/{code}`,
    { code: 'COVER' },
    { kind: 'cover_below', drive: 'N', threshold: '15', remark: 'Method statement 4.2' },
  ),
  put('owner', `${P}/notice-rules/{code}`, { code: 'CLAIM' }, { name: 'Claim', days: 14, clause: '20.1' }),
];

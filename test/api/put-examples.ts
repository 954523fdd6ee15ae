import { createHash } from 'node:crypto';
import { mkdtemp } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { aProject } from '../builders/project.js';
import { aShift } from '../builders/shift.js';
import { startApp, type TestApp } from '../support/app.js';
import { addressOf, type Operation, operationsOf } from './operations.js';

// One of everything that is put, by every PUT route of the OpenAPI document.

export const D = '/v1/projects/{project}/drives/{drive}';
export const P = '/v1/projects/{project}';
const NOTE = 'a note';
const DIGEST = createHash('sha256').update(NOTE).digest('hex');
const ITEM = { reference: 'B.1', description: 'Bolts', unit: 'nr', decimals: 0, quantity: '1', rate: '1' };
const BOLTS = { item: 'BOLT', zone: 'L1', quantityPerM: '2' };
const AT = '2026-03-01T08:00:00Z';

/** What is put, in an order in which each finds what it needs, and the keys in its address. */
export const EXAMPLES: [path: string, keys: Record<string, string>, body: object][] = [
  [P, {}, { name: 'Trial', timeZone: 'UTC', dayStart: '06:00', currency: 'EUR' }],
  [`${P}/parties/{party}`, { party: 'JV' }, { name: 'The joint venture', kind: 'contractor' }],
  [`${P}/members/{subject}`, { subject: 'someone' }, { roles: ['viewer'] }],
  [
    `${P}/calendar-shifts/{code}`,
    { code: 'day' },
    { startTime: '06:00', endTime: '18:00', weekdays: [1, 2, 3, 4, 5, 6, 7] },
  ],
  [
    `${P}/calendars/{validFrom}`,
    { validFrom: '2029-01-01' },
    { shifts: [{ name: 'day', startTime: '07:00', endTime: '15:00', weekdays: [1] }] },
  ],
  [
    `${P}/closures/{code}`,
    { code: 'C' },
    { name: 'Break', fromDate: '2027-12-24', toDate: '2027-12-26', planned: true },
  ],
  [`${P}/zones/{code}`, { code: 'L9' }, { name: 'Far behind' }],
  [`${P}/activity-codes/{code}`, { code: 'WAIT' }, { description: 'Waiting', countsAs: 'waiting' }],
  [`${P}/equipment/{code}`, { code: 'BELT' }, { description: 'Belt' }],
  [`${P}/ground-classes/{code}`, { code: 'C' }, { description: 'Poor rock' }],
  [`${P}/ground-classes/{code}/standard-support`, { code: 'A' }, { edition: '1', items: [BOLTS] }],
  [`${P}/support-items/{code}`, { code: 'PLATE' }, { kind: 'mesh', unit: 'm2', description: 'Plates' }],
  [`${P}/machines/{machine}`, { machine: 'M2' }, { name: 'Two', discCount: 40, discRadiusMm: '216' }],
  [
    D,
    { drive: 'S' },
    { name: 'South', startChainage: '1+200', endChainage: '2+200', direction: 1, boredDiameterM: '7' },
  ],
  [
    `${D}/shifts/{date}/{shift}`,
    {},
    aShift('2027-03-01').withStroke(1, '1+200', '1+201.7', '06:00', '06:40').build(),
  ],
  [`${D}/probe-holes/{name}`, { name: 'PH1' }, { collar: '1+201', lookOutDeg: '5', lengthM: '20' }],
  [`${D}/attachments/{digest}`, { digest: DIGEST }, { caption: 'A note' }],
  [
    `${D}/discontinuities/{name}`,
    { name: 'J1' },
    { chainage: '1+201', type: 'joint', dipDeg: '60', dipDirectionDeg: '120' },
  ],
  [
    `${D}/overbreak/{name}`,
    { name: 'O1' },
    { from: '1+200', to: '1+201', cause: 'geological', volumeM3: '1' },
  ],
  [
    `${D}/ground-logs/{name}`,
    { name: 'G1' },
    { from: '1+200', to: '1+201', mappedBy: 'Gerda', mappedAt: AT },
  ],
  [
    `${D}/programmes/{programme}`,
    { programme: 'B1' },
    {
      points: [
        { date: '2027-03-01', chainage: '1+200' },
        { date: '2027-04-01', chainage: '1+300' },
      ],
    },
  ],
  [`${D}/class-decisions/{number}`, { number: '1' }, { from: '1+200', to: '1+201', groundClass: 'A' }],
  [
    `${D}/baselines/{baseline}`,
    { baseline: 'T' },
    {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '10' }],
    },
  ],
  [
    `${D}/entitlements/{entitlement}`,
    { entitlement: 'E' },
    {
      rule: 'proportional',
      tenderedWeeks: '10',
      workingHoursPerWeek: '100',
      items: [{ code: 'PROBE', source: 'probe_metres', hoursPerUnit: '1', tenderedQuantity: '5' }],
    },
  ],
  [
    `${D}/bills/{version}`,
    { version: 'V1' },
    {
      validFrom: '2027-01-01',
      items: [ITEM, { ...ITEM, reference: 'L.1', description: 'Setting up', unit: 'sum' }],
    },
  ],
  [
    `${D}/bills/{version}/rules/{reference}`,
    { version: 'V1', reference: 'B.1' },
    { source: 'support', dimension: 'count', kinds: ['bolt'] },
  ],
  [
    `${D}/bills/{version}/rules/{reference}`,
    { version: 'V1', reference: 'L.1' },
    { source: 'lump', dimension: 'percent' },
  ],
  [`${D}/lump-progress/{reference}/{day}`, { reference: 'L.1', day: '2027-03-01' }, { percent: '10' }],
  [`${D}/valuations/{number}`, { number: '1' }, { cutOff: '2027-03-31' }],
  [
    `${D}/design-sections/{name}`,
    { name: 'DS1' },
    { edition: '1', from: '1+300', to: '1+400', items: [BOLTS] },
  ],
  [`${P}/doubt-limits/{validFrom}`, { validFrom: '2027-03-01' }, { mostRateMPerH: '20' }],
  [`${P}/acceptance-rules/{validFrom}`, { validFrom: '2027-03-01' }, { days: 7, clause: '12.3' }],
  [`${P}/notice-rules/{code}`, { code: 'CLAIM' }, { name: 'Claim', days: 14, clause: '20.1' }],
  [`${D}/notices/{code}`, { code: 'N1' }, { rule: 'CLAIM', happenedAt: AT, concerns: 'Water at the face' }],
  [`${D}/support-limits`, {}, { limits: [{ zone: 'L1', limitM: '10' }] }],
];

/** How a thing was put the first time. */
export interface Put {
  url: string;
  stood: boolean;
  status: number;
  location: string | undefined;
}

/** A service that holds one of everything, and what its OpenAPI document says. */
export interface Examples {
  app: TestApp;
  operations: Operation[];
  operation(method: string, path: string): Operation | undefined;
  /** The address of a thing by its route and keys. */
  address(path: string, keys: Record<string, string>): string;
  put: Put[];
}

export const startWithExamples = async (): Promise<Examples> => {
  const folder = await mkdtemp(path.join(tmpdir(), 'examples-'));
  const app = await startApp({
    ATTACHMENTS_DIR: folder,
    API_KEY_PEPPER: 'a pepper of the tests, and of nothing else',
  });
  await aProject(app);
  const operations = operationsOf(app);
  const operation = (method: string, path_: string): Operation | undefined =>
    operations.find((each) => each.method === method && each.path === path_);
  const address = (path_: string, keys: Record<string, string>): string =>
    addressOf(path_, operation('put', path_)?.parameters ?? [], keys);
  const attached = await app.http
    .post('/v1/projects/P1/drives/N/attachments')
    .attach('file', Buffer.from(NOTE), 'note.txt');
  expect([attached.status, attached.body.digest]).toEqual([201, DIGEST]);
  const refused: string[] = [];
  const put: Put[] = [];
  for (const [path_, keys, body] of EXAMPLES) {
    const url = address(path_, keys);
    const stood = (await app.http.get(url)).status === 200;
    const { status, headers, text } = await app.http.put(url).send(body);
    if (status >= 300) refused.push(`${url}: ${text}`);
    put.push({ url, stood, status, location: headers['location'] as string | undefined });
  }
  expect(refused).toEqual([]);
  return { app, operations, operation, address, put };
};

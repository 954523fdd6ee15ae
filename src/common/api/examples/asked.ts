import { PLACE } from './step.js';
import { STORY } from './story.js';

export type Keys = Record<string, string>;

/** Keys of an address for which the story has no step at that address or above it. */
export const KEYS: Keys = {
  ...PLACE,
  number: '1',
  change: '1',
  date: '2027-03-01',
  edition: 'q-2013',
  kind: 'ground-logs',
  diagram: 'time-chainage',
  reference: 'B.1',
  set: 'fact_boring',
  prefix: 'aaaaaaaaaa',
  validFrom: '2027-03-03',
};

/** Query parameters by name, or by name and format where several share the name. */
export const ASKED: Record<string, unknown> = {
  $filter: 'advance_m gt 0',
  $select: 'boring_id,advance_m',
  $orderby: 'advance_m desc',
  $top: 10,
  $skip: 0,
  $skiptoken: Buffer.from('["1.500","1","0.000"]').toString('base64url'),
  $format: 'json',
  'from:date': '2027-03-01',
  'to:date': '2027-03-31',
  'from:date-time': '2027-03-01T06:00:00Z',
  'to:date-time': '2027-03-01T18:00:00Z',
  'from:chainage': '1+200',
  'to:chainage': '1+300',
  'after:integer': 1,
  'after:date-time': '2027-03-01T06:00:00Z',
  'after:string': 'A',
  'from:string': '2027-03-01',
  'to:string': '2027-03-31',
  'lengthM:number': 10,
  'lengthM:decimal': '10',
  asOf: '2026-12-01T06:00:00Z',
  at: '2027-03-01T18:00:00Z',
  axisDeg: 90,
  baseline: 'T',
  chainage: '1+200.5',
  conductivityMPerS: '0.0000001',
  drive: 'N',
  esr: 1,
  esrType: 'E',
  first: 50,
  fromChainage: '1+200',
  toChainage: '1+300',
  headM: 100,
  hours: 24,
  height: 700,
  issue: '1',
  on: '2027-03-01',
  programme: 'B1',
  producer: 'Invented joint venture',
  radiusM: 3.6,
  recipient: 'Invented railway',
  shiftDate: '2027-03-01',
  shiftName: 'day',
  spanM: 7,
  status: 'Draft',
  strokeLengthM: '1.7',
  subjectName: 'G1',
  until: '2027-03-31',
  validFrom: '2027-03-01',
  since: 1,
  sheet: 1,
  tracks: 'dates,lithology,class,support',
  wallHeightM: 7,
  width: 1200,
};

/** Keys to use where the story's own record no longer exists, because it was removed again. */
const LEFT: Record<string, Keys> = { '/v1/projects/{project}/jobs/{number}': { number: '2' } };

/** The keys for an address: those of the story's step at the address, or of the nearest one above it. */
export const keysOf = (path: string): Keys => {
  const above = STORY.filter((step) => path === step.path || path.startsWith(`${step.path}/`));
  const longest = Math.max(...above.map((step) => step.path.length));
  const left = Object.entries(LEFT).find(([place]) => path.startsWith(place))?.[1];
  return { ...KEYS, ...above.find((step) => step.path.length === longest)?.keys, ...left };
};

import type { ShiftDocument } from '../../../src/features/driving/shifts/shift-document.model.js';
import type { Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import { aDrive, aProject, DRIVE, PROJECT, wideLimits } from '../../builders/project.js';
import { aShift, type ShiftBuilder } from '../../builders/shift.js';
import { type Office, startOffice } from '../../harness/office.js';

// An invented contract. Anna posts shifts; boris is engineer, countersigns and agrees; clara and dora are quantity surveyors;
// vera is a viewer; olga is the administrator.

const ROLES = { anna: 'shift_poster', boris: 'engineer', clara: 'qs', dora: 'qs', vera: 'viewer' };

export const PLACE = `/v1/projects/${PROJECT}/drives/${DRIVE}`;

export interface Item {
  reference: string;
  unit: string;
  rate: string;
  decimals: number;
  quantity?: string;
  rule?: object;
}

const T = { source: 'advance' };
const S = { source: 'support' };

/** Every kind of rule once. */
export const ITEMS: Item[] = [
  {
    reference: 'T.1',
    unit: 'm',
    rate: '1850',
    decimals: 2,
    quantity: '1000',
    rule: { ...T, dimension: 'length' },
  },
  {
    reference: 'T.2',
    unit: 'm3',
    rate: '95.5',
    decimals: 1,
    rule: { ...T, dimension: 'volume', classes: ['A'] },
  },
  {
    reference: 'T.3',
    unit: 'm3',
    rate: '120.25',
    decimals: 1,
    rule: { ...T, dimension: 'volume', classes: ['B'] },
  },
  {
    reference: 'B.1',
    unit: 'nr',
    rate: '42.35',
    decimals: 0,
    rule: { ...S, dimension: 'count', items: ['BOLT'] },
  },
  {
    reference: 'B.2',
    unit: 'm',
    rate: '9.9',
    decimals: 1,
    rule: { ...S, dimension: 'length', items: ['BOLT'] },
  },
  {
    reference: 'M.1',
    unit: 'm2',
    rate: '18.4',
    decimals: 1,
    rule: { ...S, dimension: 'area', items: ['MESH'], allowancePercent: '10' },
  },
  {
    reference: 'S.1',
    unit: 'm3',
    rate: '310',
    decimals: 2,
    rule: { ...S, dimension: 'volume', items: ['SPRAY'] },
  },
  {
    reference: 'R.1',
    unit: 't',
    rate: '2400',
    decimals: 3,
    rule: { ...S, dimension: 'mass', items: ['TH29'] },
  },
  { reference: 'P.1', unit: 'm', rate: '55', decimals: 1, rule: { source: 'probing', dimension: 'length' } },
  {
    reference: 'W.1',
    unit: 'h',
    rate: '640',
    decimals: 2,
    rule: { source: 'time', dimension: 'hours', parties: ['employer'] },
  },
  {
    reference: 'L.1',
    unit: 'sum',
    rate: '250000',
    decimals: 4,
    quantity: '1',
    rule: { source: 'lump', dimension: 'percent' },
  },
];

export const startContract = async (): Promise<Office> => {
  const office = await startOffice('olga', Object.keys(ROLES));
  await aProject(office.as('olga'));
  await office.employ(PROJECT, ROLES);
  await sent(office, 'olga', 'put', `/v1/projects/${PROJECT}/support-items/TH29`, {
    kind: 'rib',
    unit: 'nr',
    description: 'Ring TH 29',
    massKgPerM: '29',
    lengthM: '20',
  });
  await sent(office, 'olga', 'put', `/v1/projects/${PROJECT}/doubt-limits/1900-01-02`, wideLimits('TH29'));
  return office;
};

/** Sends a request and returns its answer. @throws Error unless it succeeds */
export const sent = async <T = Record<string, unknown>>(
  office: Office,
  who: string,
  method: 'get' | 'put' | 'post' | 'delete',
  url: string,
  body?: object,
): Promise<T> => {
  const request = office.http[method](url).set(office.headersOf(who));
  const answer = await (body === undefined ? request : request.send(body));
  if (answer.status >= 300) throw new Error(`${method} ${url}: ${answer.status} ${answer.text}`);
  return answer.body as T;
};

/** Another drive like the first one. @returns its address */
export const anotherDrive = async (office: Office, drive: string): Promise<string> => {
  await aDrive(office.as('olga'), { drive });
  return `/v1/projects/${PROJECT}/drives/${drive}`;
};

/** A version of the bill with its rules. */
export const aBill = async (
  office: Office,
  version: string,
  validFrom: string,
  items: Item[],
  currency = 'EUR',
  drive = DRIVE,
): Promise<void> => {
  const place = `/v1/projects/${PROJECT}/drives/${drive}`;
  await sent(office, 'clara', 'put', `${place}/bills/${version}`, {
    validFrom,
    currency,
    items: items.map(({ rule: _, ...item }) => ({
      description: `Item ${item.reference}`,
      quantity: '0',
      ...item,
    })),
  });
  for (const { reference, rule } of items)
    if (rule) await sent(office, 'clara', 'put', `${place}/bills/${version}/rules/${reference}`, rule);
};

/** A submitted day that bores in its first hour; the rest is maintenance unless the builder adds more. */
export const aDay = (
  date: string,
  stroke: number,
  from: string,
  to: string,
  more: (shift: ShiftBuilder) => ShiftBuilder = (shift) => shift,
): ShiftDocument =>
  more(
    aShift(date)
      .submitted()
      .withStroke(stroke, from, to, '06:00', '07:00')
      .withActivity('BORE', '06:00', '07:00')
      .withActivity('MAINT', '07:00', '18:00'),
  ).build();

/** Posts a day, replacing an existing one, and countersigns it. */
export const booked = async (
  office: Office,
  date: string,
  document: ShiftDocument,
  place = PLACE,
): Promise<void> => {
  const url = `${place}/shifts/${date}/day`;
  const stands = await office.http.get(url).set(office.headersOf('anna'));
  let tag = stands.headers['etag'];
  if (stands.status === 200 && stands.body.state === 'countersigned') {
    const reopened = await office.http
      .post(`${url}/reopen`)
      .set(office.headersOf('boris'))
      .set('If-Match', tag ?? '')
      .send({ reason: 'counted again' });
    tag = reopened.headers['etag'];
  }
  const put = await office.http
    .put(url)
    .set(office.headersOf('anna'))
    .set(stands.status === 200 ? { 'If-Match': tag ?? '' } : {})
    .send(document);
  if (put.status >= 300) throw new Error(`${date}: ${put.status} ${put.text}`);
  const signed = await office.http
    .post(`${url}/countersign`)
    .set(office.headersOf('boris'))
    .set('If-Match', put.headers['etag'] ?? '');
  if (signed.status !== 200) throw new Error(`${date}: ${signed.status} ${signed.text}`);
};

export const drafted = (office: Office, number: number, cutOff: string): Promise<Valuation> =>
  sent(office, 'clara', 'put', `${PLACE}/valuations/${number}`, { cutOff });

/** Boris agrees and clara certifies. */
export const certified = async (office: Office, number: number): Promise<Valuation> => {
  await sent(office, 'boris', 'post', `${PLACE}/valuations/${number}/agree`);
  return sent(office, 'clara', 'post', `${PLACE}/valuations/${number}/certify`);
};

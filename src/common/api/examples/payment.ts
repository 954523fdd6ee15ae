import { FORM, D, post, put, type Step } from './step.js';

const ITEM = { reference: 'B.1', description: 'Bolts', unit: 'nr', decimals: 0, quantity: '1', rate: '1' };
const RULE = `${D}/bills/{version}/rules/{reference}`;
const SETTLED = { settlement: 'Seven of eight bolts count' };

/** Programme, bill, and what is measured and paid under it. */
export const PAYMENT: Step[] = [
  put(
    'engineer',
    `${D}/programmes/{programme}`,
    { programme: 'B1' },
    {
      points: [
        { date: '2027-03-01', chainage: '1+200' },
        { date: '2027-04-01', chainage: '1+300' },
      ],
    },
  ),
  put(
    'engineer',
    `${D}/baselines/{baseline}`,
    { baseline: 'T' },
    {
      workingHoursPerDay: '20',
      intervals: [{ from: '1+200', to: '2+200', groundClass: 'A', advanceRateMPerD: '10' }],
    },
  ),
  put(
    'engineer',
    `${D}/entitlements/{entitlement}`,
    { entitlement: 'E' },
    {
      rule: 'proportional',
      tenderedWeeks: '10',
      workingHoursPerWeek: '100',
      items: [{ code: 'PROBE', source: 'probe_metres', hoursPerUnit: '1', tenderedQuantity: '5' }],
    },
  ),
  put(
    'qs',
    `${D}/bills/{version}`,
    { version: 'V1' },
    {
      validFrom: '2027-01-01',
      items: [ITEM, { ...ITEM, reference: 'L.1', description: 'Setting up', unit: 'sum' }],
    },
  ),
  post(
    'qs',
    `${D}/imports/{kind}`,
    { kind: 'bill-items' },
    {
      file: 'reference,description,unit,rate,decimals,quantity\nB.1,Bolts,nr,1.05,0,1\n',
      map: JSON.stringify({ version: { value: 'V2' }, validFrom: { value: '2028-01-01' } }),
    },
    FORM,
  ),
  put(
    'qs',
    RULE,
    { version: 'V1', reference: 'B.1' },
    { source: 'support', dimension: 'count', kinds: ['bolt'] },
  ),
  put('qs', RULE, { version: 'V1', reference: 'L.1' }, { source: 'lump', dimension: 'percent' }),
  put(
    'qs',
    `${D}/lump-progress/{reference}/{day}`,
    { reference: 'L.1', day: '2027-03-01' },
    { percent: '10' },
  ),
  post(
    'supervisor',
    `${D}/quantity-disputes`,
    {},
    { reference: 'B.1', sourceKey: '2027-03-01/day/support/1', reason: 'Seven bolts were counted' },
  ),
  post('engineer', `${D}/quantity-disputes/{number}/settle`, { number: '1' }, SETTLED),
  post('supervisor', `${D}/quantity-disputes/{number}/settle`, { number: '1' }, SETTLED),
  put('qs', `${D}/valuations/{number}`, { number: '1' }, { cutOff: '2027-03-01' }),
  post('engineer', `${D}/valuations/{number}/agree`, { number: '1' }),
  post('qs', `${D}/valuations/{number}/certify`, { number: '1' }),
];

import type { BaselineInput } from '../features/ground/baselines/baseline.models.js';
import type { BillInput } from '../features/payment/bills/bill.models.js';
import type { MeasurementRuleInput } from '../features/payment/measurement/measurement.models.js';
import type { ProgrammeInput } from '../features/driving/programme/programme.models.js';
import type { LumpProgressInput } from '../features/payment/valuations/evidence.models.js';
import { chainageAt, DRIVE } from './site.js';

// An invented contract: references and rates are made up.

const expected = (
  fromMm: number,
  toMm: number,
  groundClass: string,
  advanceRateMPerD: string,
): BaselineInput['intervals'][number] => ({
  from: chainageAt(fromMm),
  to: chainageAt(toMm),
  groundClass,
  advanceRateMPerD,
});

export const BASELINE = {
  code: 'CONTRACT',
  input: {
    workingHoursPerDay: '20.00',
    intervals: [
      expected(0, 70_000, 'B', '24.000'),
      expected(70_000, 160_000, 'A', '22.000'),
      expected(160_000, 190_000, 'C', '14.000'),
      expected(190_000, 200_000, 'D', '7.000'),
      expected(200_000, 230_000, 'C', '14.000'),
      expected(230_000, 1_020_000, 'B', '24.000'),
    ],
  },
} satisfies { code: string; input: BaselineInput };

export const PROGRAMME = {
  code: 'P1',
  input: {
    points: [
      { date: '2021-03-15', chainage: chainageAt(0) },
      { date: '2021-03-23', chainage: chainageAt(176_000) },
      { date: '2021-03-27', chainage: chainageAt(236_000) },
      { date: '2021-05-01', chainage: DRIVE.input.endChainage },
    ],
  },
} satisfies { code: string; input: ProgrammeInput };

interface DemoItem {
  reference: string;
  group: 'Drive' | 'Support' | 'Other';
  description: string;
  unit: string;
  kind?: 'lump' | 'time';
  decimals: number;
  quantity: string;
  rate: string;
  rule: MeasurementRuleInput;
}

const support = (
  items: string[],
  dimension: MeasurementRuleInput['dimension'],
): Pick<DemoItem, 'group' | 'rule'> => ({
  group: 'Support',
  rule: { source: 'support', dimension, items },
});

const drive = (classes: string[]): Pick<DemoItem, 'group' | 'unit' | 'decimals' | 'rule'> => ({
  group: 'Drive',
  unit: 'm',
  decimals: 3,
  rule: { source: 'advance', dimension: 'length', classes },
});

const ITEMS: DemoItem[] = [
  {
    ...drive(['A', 'B']),
    reference: 'DRIVE-AB',
    description: 'Drive in classes A and B',
    quantity: '950.000',
    rate: '6400.00',
  },
  {
    ...drive(['C']),
    reference: 'DRIVE-C',
    description: 'Drive in class C',
    quantity: '60.000',
    rate: '8900.00',
  },
  {
    ...drive(['D']),
    reference: 'DRIVE-D',
    description: 'Drive in class D',
    quantity: '10.000',
    rate: '14500.00',
  },
  {
    ...support(['BOLT-3'], 'count'),
    reference: 'BOLT-3M',
    description: 'Rock bolt 3 m',
    unit: 'nr',
    decimals: 0,
    quantity: '2500',
    rate: '62.50',
  },
  {
    ...support(['BOLT-4'], 'count'),
    reference: 'BOLT-4M',
    description: 'Rock bolt 4 m',
    unit: 'nr',
    decimals: 0,
    quantity: '60',
    rate: '81.00',
  },
  {
    ...support(['MESH'], 'area'),
    reference: 'MESH',
    description: 'Welded mesh',
    unit: 'm2',
    decimals: 1,
    quantity: '8000.0',
    rate: '14.20',
  },
  {
    ...support(['RIB'], 'count'),
    reference: 'RING',
    description: 'Sliding rib, full ring',
    unit: 'nr',
    decimals: 0,
    quantity: '45',
    rate: '2350.00',
  },
  {
    ...support(['SPRAYED'], 'volume'),
    reference: 'SPRAY',
    description: 'Sprayed concrete as delivered',
    unit: 'm3',
    decimals: 1,
    quantity: '900.0',
    rate: '410.00',
  },
  {
    group: 'Other',
    reference: 'PROBE',
    description: 'Probe hole',
    unit: 'm',
    decimals: 1,
    quantity: '800.0',
    rate: '118.00',
    rule: { source: 'probing', dimension: 'length' },
  },
  {
    group: 'Other',
    reference: 'GROUT',
    description: 'Micro cement, pre-grouting',
    unit: 't',
    decimals: 3,
    quantity: '20.000',
    rate: '1450.00',
    rule: {
      source: 'grouting',
      dimension: 'mass',
      purposes: ['pre_grouting'],
      materials: ['Micro cement'],
    },
  },
  {
    group: 'Other',
    reference: 'WAIT',
    description: 'Waiting time, client responsible',
    unit: 'h',
    kind: 'time',
    decimals: 2,
    quantity: '0.00',
    rate: '1850.00',
    rule: { source: 'time', dimension: 'hours', parties: ['employer'] },
  },
  {
    group: 'Other',
    reference: 'SETUP',
    description: 'Site installation',
    unit: 'sum',
    kind: 'lump',
    decimals: 4,
    quantity: '1.0000',
    rate: '1200000.00',
    rule: { source: 'lump', dimension: 'percent' },
  },
];

const GROUPS: Record<DemoItem['group'], string> = { Drive: 'DRIVE', Support: 'SUPPORT', Other: 'OTHER' };

export const BILL = {
  code: 'A',
  input: {
    validFrom: '2021-03-01',
    items: ITEMS.map(({ group, rule: _, ...item }) => ({
      ...item,
      groupCode: GROUPS[group],
      groupTitle: group,
    })),
  } satisfies BillInput,
  rules: Object.fromEntries(ITEMS.map(({ reference, rule }) => [reference, rule])),
};

/** Last date whose shifts count. */
export const CUT_OFF = { 1: '2021-03-26', 2: '2021-03-28' } as const;

export const LUMP_PROGRESS: { day: string; input: LumpProgressInput }[] = [
  { day: CUT_OFF[1], input: { percent: '40.0000' } },
  { day: CUT_OFF[2], input: { percent: '45.0000' } },
];

/** After valuation 1 was certified, the supervisor rejects two bolts of a countersigned shift. */
export const CORRECTION = {
  date: '2021-03-25',
  shift: 'night',
  item: 'BOLT-4',
  fewer: 2,
  reason: 'two bolts failed the pull test and were drilled again outside the pattern',
};

/** The item of the bill that the correction changes. */
export const CORRECTED_REFERENCE = 'BOLT-4M';

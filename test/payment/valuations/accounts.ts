import type { Account, AccountLine, Sums } from '../../../src/features/payment/valuations/out/account.js';
import { amountOf } from '../../../src/engineering/amount.js';

/** What a test gives for a line; the rest follows from it. */
export interface LineSaid {
  description?: string;
  group?: [code: string, title: string] | null;
  unit?: string;
  rate?: string;
  billQuantity?: string;
  previous?: string;
  toDate?: string;
  held?: string;
}

const cents = (amount: string): bigint => BigInt(amount.replace('.', ''));
const fromCents = (sum: bigint): string => {
  const digits = (sum < 0n ? -sum : sum).toString().padStart(3, '0');
  return `${sum < 0n ? '-' : ''}${digits.slice(0, -2)}.${digits.slice(-2)}`;
};

/** Exact difference of two numbers with equal decimals. */
const less = (a: string, b: string): string => {
  const decimals = a.split('.')[1]?.length ?? 0;
  const whole = BigInt(a.replace('.', '')) - BigInt(b.replace('.', ''));
  const digits = (whole < 0n ? -whole : whole).toString().padStart(decimals + 1, '0');
  const sign = whole < 0n ? '-' : '';
  return decimals === 0 ? sign + digits : `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
};

const sumsOf = (lines: { previousAmount: string; amount: string; toDateAmount: string }[]): Sums => {
  const sum = (field: 'previousAmount' | 'amount' | 'toDateAmount'): string =>
    fromCents(lines.reduce((total, line) => total + cents(line[field]), 0n));
  return { previous: sum('previousAmount'), period: sum('amount'), toDate: sum('toDateAmount') };
};

/** A valuation as the database would give it, in euros, with lines invented by the test. */
export const anAccount = (
  said: LineSaid[],
  state: 'draft' | 'agreed' | 'certified' = 'certified',
  more: Partial<Account['head']> = {},
): Account => {
  const bare = said.map((line, index) => {
    const { rate = '42.35', toDate = '31', previous = toDate.replace(/[1-9]/g, '0'), group = null } = line;
    const [previousAmount, toDateAmount] = [amountOf(previous, rate, 2), amountOf(toDate, rate, 2)];
    return {
      version: 'V1',
      groupCode: group?.[0],
      groupTitle: group?.[1],
      reference: `T.${100 + index}`,
      description: line.description ?? `Item ${index + 1}`,
      unit: line.unit ?? 'nr',
      rate,
      billQuantity: line.billQuantity ?? '0',
      previousQuantity: previous,
      quantity: less(toDate, previous),
      toDateQuantity: toDate,
      heldQuantity: line.held ?? '0',
      percentOfBill: line.billQuantity
        ? ((100 * Number(toDate)) / Number(line.billQuantity)).toFixed(1)
        : null,
      previousAmount,
      amount: fromCents(cents(toDateAmount) - cents(previousAmount)),
      toDateAmount,
      incompleteCount: 0,
    };
  });
  const lines: AccountLine[] = bare.map((line, index) => ({
    ...line,
    groupSums: sumsOf(bare.filter(({ groupCode }) => groupCode === line.groupCode)),
    versionSums: sumsOf(bare),
    carriedSums: sumsOf(bare.slice(0, index + 1)),
  }));
  const sums = sumsOf(bare);
  const signed = { draft: 0, agreed: 1, certified: 2 }[state];
  return {
    project: 'P1',
    drive: 'N',
    head: {
      number: 7,
      state,
      cutOff: '2027-04-30',
      currency: 'EUR',
      previousAmount: sums.previous,
      amount: sums.period,
      toDateAmount: sums.toDate,
      heldCount: bare.filter(({ heldQuantity }) => heldQuantity !== '0').length,
      preparedBy: 'clara',
      preparedAt: '2027-05-03T07:10:00Z',
      ...(signed > 0 ? { agreedBy: 'boris', agreedAt: '2027-05-04T08:20:00Z' } : {}),
      ...(signed > 1
        ? { certifiedBy: 'dora', certifiedAt: '2027-05-05T09:30:00Z', measuredChange: 4711 }
        : {}),
      seal: '5e4f'.repeat(16),
      changedSinceAgreed: false,
      ...more,
    },
    heading: {
      projectName: 'Nordre tunnel – løp øst',
      driveName: 'North drive',
      timeZone: 'Europe/Oslo',
      preparedAt: '2027-05-03 09:10',
      ...(signed > 0 ? { agreedAt: '2027-05-04 10:20' } : {}),
      ...(signed > 1 ? { certifiedAt: '2027-05-05 11:30' } : {}),
    },
    versions: [{ version: 'V1', validFrom: '2027-01-01' }],
    lines,
  };
};

const GROUPS: [string, string][] = [
  ['T.1', 'Excavation'],
  ['T.2', 'Rock support: bolts, mesh and ribs'],
  ['T.3', 'Sprayed concrete'],
  ['T.4', 'Probing and grouting'],
];

/** Lines of every kind: long texts, all decimals, corrections downwards, large and small amounts. */
export const manyLines = (count: number): LineSaid[] =>
  Array.from({ length: count }, (_, index) => {
    const decimals = index % 4;
    const number = (value: number): string => value.toFixed(decimals);
    const toDate = number(((index * 7919) % 9000) + 0.125 * index);
    return {
      group: GROUPS[Math.floor((index * GROUPS.length) / count)] ?? null,
      description:
        index % 9 === 4
          ? 'Sprayed concrete C35/45 with 40 kg/m³ of steel fibre, layer of 80 mm – crown and walls, rebound included, per m² of the theoretical face; préparation à Sørbø'
          : `Bolt ø 25 mm, ${3 + (index % 4)} m long`,
      unit: ['nr', 'm', 'm²', 'm³'][index % 4] ?? 'nr',
      rate: ['42.35', '1850', '0.075', '120.2575', '18450.5'][index % 5] ?? '1',
      billQuantity: index % 6 === 5 ? undefined : number(12000 + index),
      previous: index % 11 === 3 ? number(Number(toDate) + 17.5) : number(Number(toDate) * 0.6),
      toDate,
      held: index % 17 === 2 ? number(12.5) : undefined,
    };
  });

import type { Item } from './contract.js';

// A bill for grouting and probing, and a round at the end of a shift.

export const item = (reference: string, unit: string, decimals: number, rule: object): Item => ({
  reference,
  unit,
  decimals,
  rate: '10',
  rule,
});

export const G = { source: 'grouting' };
export const MICRO = { materials: ['Micro cement'] };
export const PROBING = { source: 'probing' };

export const BILL: Item[] = [
  item('G.1', 'nr', 0, { ...G, dimension: 'count' }),
  item('G.2', 'm', 1, { ...G, dimension: 'length' }),
  item('G.3', 'h', 2, { ...G, dimension: 'hours' }),
  item('G.4', 'kg', 2, { ...G, dimension: 'mass' }),
  item('G.5', 't', 5, { ...G, dimension: 'mass', ...MICRO }),
  item('G.6', 'm3', 4, { ...G, dimension: 'volume' }),
  item('G.7', 'kg', 1, { ...G, dimension: 'mass', materials: ['Portland cement'], allowancePercent: '10' }),
  item('G.8', 'm', 1, { ...G, dimension: 'length', purposes: ['post_grouting'] }),
  item('P.1', 'm', 1, { ...PROBING, dimension: 'length' }),
  item('P.2', 'm', 1, { ...PROBING, dimension: 'length', methods: ['percussive'] }),
  item('P.3', 'nr', 0, { ...PROBING, dimension: 'count', methods: ['cored'] }),
];

export const DAY = '2027-03-01';
export const at = (time: string, date = DAY): string => `${date}T${time}Z`;

export const hole = (name: string, more: object): object => ({
  name,
  collar: '1+201',
  lookOutDeg: '5',
  lengthM: '10',
  ...more,
});

export const mix = (material: string, massKg: string, volumeL?: string): object => ({
  material,
  massKg,
  volumeL,
});

/** Holes that end in the shift, as it ends, a second after it, and with the round after it. */
export const ROUND = {
  purpose: 'pre_grouting',
  state: 'complete',
  from: '1+202',
  to: '1+222',
  startedAt: at('08:00:00'),
  endedAt: at('20:00:00'),
  holes: [
    hole('G1', {
      ...{ collar: '1+200.5', lengthM: '24', startedAt: at('10:30:00'), endedAt: at('12:00:00') },
      mixes: [mix('Micro cement', '600', '800'), mix('Portland cement', '400', '450')],
    }),
    hole('G2', {
      ...{ lengthM: '20.5', startedAt: at('17:00:00'), endedAt: at('18:00:00') },
      mixes: [mix('Micro cement', '500.25', '620.5')],
    }),
    hole('G3', { endedAt: at('18:00:01'), mixes: [mix('Micro cement', '7', '9')] }),
    hole('G4', { mixes: [mix('Micro cement', '7', '9')] }),
  ],
};

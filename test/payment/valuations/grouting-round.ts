import type { LineSourcePage, Valuation } from '../../../src/features/payment/valuations/valuation.models.js';
import type { Office } from '../../harness/office.js';
import { aBill, aDay, anotherDrive, booked, type Item, sent } from './contract.js';

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

/** Holes that end in the shift, exactly at its end, a second after it, and without an end of their own. */
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

export const toDate = ({ lines }: Valuation): Record<string, string> =>
  Object.fromEntries(lines.map(({ reference, toDateQuantity }) => [reference, toDateQuantity]));

/** Drives under a contract with that bill, their grouting and probing, and their valuations. */
export const groutingSite = (office: () => Office) => {
  let drives = 0;

  const aDrive = async (items = BILL): Promise<string> => {
    drives += 1;
    const drive = `G${drives}`;
    const place = await anotherDrive(office(), drive);
    await aBill(office(), 'V1', '2027-01-01', items, 'EUR', drive);
    return place;
  };

  const aRound = (place: string, name: string, body: object) =>
    sent(office(), 'anna', 'put', `${place}/grouting-rounds/${name}`, body);

  const aProbe = (place: string, name: string, body: object) =>
    sent(office(), 'anna', 'put', `${place}/probe-holes/${name}`, {
      ...{ collar: '1+201', lookOutDeg: '5', drilledAt: at('09:00:00') },
      ...body,
    });

  const drafted = (place: string, number: number, cutOff = '2027-03-31'): Promise<Valuation> =>
    sent(office(), 'clara', 'put', `${place}/valuations/${number}`, { cutOff });

  const certified = async (place: string, number: number): Promise<void> => {
    await sent(office(), 'boris', 'post', `${place}/valuations/${number}/agree`);
    await sent(office(), 'clara', 'post', `${place}/valuations/${number}/certify`);
  };

  const sourcesOf = async (place: string, number: number, reference: string) => {
    const url = `${place}/valuations/${number}/lines/${reference}/sources`;
    return (await sent<LineSourcePage>(office(), 'vera', 'get', url)).items;
  };

  const aMonth = async (): Promise<string> => {
    const place = await aDrive();
    await booked(
      office(),
      DAY,
      aDay(DAY, 1, '1+200', '1+202', (shift) =>
        shift.withGround('A', '1+200', '1+201').withGround('B', '1+201', '1+202'),
      ),
      place,
    );
    await aRound(place, 'R1', ROUND);
    await aProbe(place, 'PH1', { lengthM: '30', method: 'percussive' });
    await aProbe(place, 'PH2', { lengthM: '20', method: 'cored' });
    await aProbe(place, 'PH3', { lengthM: '10' });
    return place;
  };

  return { aDrive, aProbe, aRound, drafted, certified, sourcesOf, aMonth };
};

import type {
  StandardSupportInput,
  SupportLimitsInput,
} from '../features/support/support-standard/standard.models.js';
import { STANDARD_SUPPORT, type Standard } from './ground.js';
import { type GroundClassName, SUPPORT_ITEMS } from './site.js';

/** A stroke may be short of the quantity per metre by this part, because pieces lie on one side or the other of its end. [%] */
const TOLERANCE_PERCENT = '25.00';
/** The spacing of ribs may be larger by this. [m] */
const TOLERANCE_M = '0.100';

const perMetre = ({ item, perKm = 0 }: Standard): string =>
  (perKm / (SUPPORT_ITEMS[item].unit === 'nr' ? 1000 : 10_000)).toFixed(6);

const demanded = (standard: Standard): StandardSupportInput['items'][number] => {
  const { item, zone, everyMm } = standard;
  if (everyMm) return { item, zone, spacingM: (everyMm / 1000).toFixed(3), toleranceM: TOLERANCE_M };
  return { item, zone, quantityPerM: perMetre(standard), tolerancePercent: TOLERANCE_PERCENT };
};

export const listOf = (groundClass: GroundClassName): StandardSupportInput['items'] =>
  STANDARD_SUPPORT[groundClass].map(demanded);

interface DemoStandard {
  groundClass: GroundClassName;
  input: StandardSupportInput;
}

/** Class C at first demanded fewer bolts; from the day of its revision on it demands those that the crew installs. */
export const REVISION = { groundClass: 'C', revision: '1', validFrom: '2021-03-24' } as const;

const EDITION = 'Drawing DEMO-100 (invented)';

export const STANDARDS: DemoStandard[] = [
  { groundClass: 'A', input: { edition: EDITION, items: [] } }, // spot bolts where the rock needs them
  { groundClass: 'B', input: { edition: EDITION, items: listOf('B') } },
  { groundClass: 'D', input: { edition: EDITION, items: listOf('D') } },
  {
    groundClass: 'C',
    input: {
      edition: EDITION,
      items: listOf('C').map((line) =>
        line.item === 'BOLT-3' ? { ...line, quantityPerM: '4.000000' } : line,
      ),
    },
  },
  {
    groundClass: 'C',
    input: {
      edition: EDITION,
      revision: REVISION.revision,
      validFrom: REVISION.validFrom,
      items: listOf('C'),
    },
  },
];

export const LIMITS = {
  limits: [
    { zone: 'L1', limitM: '10.000' },
    { zone: 'L2', limitM: '50.000' },
  ],
} satisfies SupportLimitsInput;

import type { GroundClassName, SupportItemName } from './site.js';

export interface Ground {
  /** End, in driven length. [mm] */
  toMm: number;
  groundClass: GroundClassName;
  lithology: string;
  remark?: string;
  /** The class whose standard support the crew kept installing, where it differs from the class of the ground. */
  supportedAs?: GroundClassName;
}

/** The ground along the drive; its boundaries do not coincide with the ends of strokes. */
export const GROUND: Ground[] = [
  { toMm: 61_350, groundClass: 'B', lithology: 'banded gneiss' },
  { toMm: 151_900, groundClass: 'A', lithology: 'granitic gneiss' },
  { toMm: 186_420, groundClass: 'C', lithology: 'biotite schist', remark: 'three sets of joints, damp' },
  {
    toMm: 202_780,
    groundClass: 'D',
    lithology: 'crushed schist',
    remark: 'fault crosses the axis at about 60°',
  },
  {
    toMm: 210_000,
    groundClass: 'C',
    lithology: 'biotite schist',
    remark: 'disturbed beside the fault, supported as in it',
    supportedAs: 'D',
  },
  {
    toMm: 241_150,
    groundClass: 'C',
    lithology: 'biotite schist',
    remark: 'dripping water at the springline',
  },
  { toMm: 1_020_000, groundClass: 'B', lithology: 'banded gneiss' },
];

export interface Cut {
  fromMm: number;
  toMm: number;
  /** Start of the ground to which it belongs. [mm] */
  groundFromMm: number;
  ground: Ground;
}

/** An interval of the drive, divided where the ground changes. */
export const groundWithin = (fromMm: number, toMm: number): Cut[] =>
  GROUND.map((ground, index) => ({ ground, groundFromMm: GROUND[index - 1]?.toMm ?? 0 }))
    .map(({ ground, groundFromMm }) => ({
      ground,
      groundFromMm,
      fromMm: Math.max(fromMm, groundFromMm),
      toMm: Math.min(toMm, ground.toMm),
    }))
    .filter((cut) => cut.fromMm < cut.toMm);

export const groundClassAt = (mm: number): GroundClassName =>
  GROUND.find(({ toMm }) => mm < toMm)?.groundClass ?? 'B';

/** How the machine bores in a class, and how long support holds it up after a stroke. */
export interface BoringHabit {
  /** [0.1 mm/rev] */
  penetration: [number, number];
  rotationRpm: number;
  thrustKn: [number, number];
  torqueKnm: [number, number];
  supportMinutes: [number, number];
}

export const BORING_HABITS: Record<GroundClassName, BoringHabit> = {
  A: {
    penetration: [45, 56],
    rotationRpm: 6,
    thrustKn: [11_600, 12_200],
    torqueKnm: [1250, 1400],
    supportMinutes: [5, 12],
  },
  B: {
    penetration: [66, 80],
    rotationRpm: 6,
    thrustKn: [10_400, 11_400],
    torqueKnm: [1400, 1600],
    supportMinutes: [14, 26],
  },
  C: {
    penetration: [78, 95],
    rotationRpm: 6,
    thrustKn: [7900, 8900],
    torqueKnm: [1150, 1350],
    supportMinutes: [36, 52],
  },
  D: {
    penetration: [55, 65],
    rotationRpm: 4,
    thrustKn: [4600, 5400],
    torqueKnm: [850, 980],
    supportMinutes: [90, 120],
  },
};

/** One line of a class's standard support. */
export interface Standard {
  item: SupportItemName;
  zone: string;
  arc: [string, string];
  thicknessMm?: string;
  /** Per kilometre of drive: pieces, or tenths of m² or m³. */
  perKm?: number;
  /** Or the spacing of single pieces. [mm] */
  everyMm?: number;
}

export const STANDARD_SUPPORT: Record<GroundClassName, Standard[]> = {
  A: [{ item: 'BOLT-3', zone: 'L1', arc: ['300.00', '60.00'], perKm: 600 }],
  B: [
    { item: 'BOLT-3', zone: 'L1', arc: ['300.00', '60.00'], perKm: 2400 },
    { item: 'MESH', zone: 'L1', arc: ['300.00', '60.00'], perKm: 83_000 },
    { item: 'SPRAYED', zone: 'L2', arc: ['270.00', '90.00'], perKm: 7500, thicknessMm: '50.00' },
  ],
  C: [
    { item: 'BOLT-3', zone: 'L1', arc: ['250.00', '110.00'], perKm: 4700 },
    { item: 'MESH', zone: 'L1', arc: ['250.00', '110.00'], perKm: 152_000 },
    { item: 'RIB', zone: 'L1', arc: ['0.00', '360.00'], everyMm: 1700 },
    { item: 'SPRAYED', zone: 'L2', arc: ['240.00', '120.00'], perKm: 20_000, thicknessMm: '100.00' },
  ],
  D: [
    { item: 'BOLT-4', zone: 'L1', arc: ['230.00', '130.00'], perKm: 5300 },
    { item: 'MESH', zone: 'L1', arc: ['230.00', '130.00'], perKm: 190_000 },
    { item: 'RIB', zone: 'L1', arc: ['0.00', '360.00'], everyMm: 850 },
    { item: 'SPRAYED', zone: 'L1', arc: ['240.00', '120.00'], perKm: 19_000, thicknessMm: '100.00' },
    { item: 'SPRAYED', zone: 'L2', arc: ['220.00', '140.00'], perKm: 32_000, thicknessMm: '150.00' },
  ],
};

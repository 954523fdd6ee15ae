import { finiteResult, requireAboveZero, requireFinite, requireZeroOrMore } from './checks.js';

/** Pressure of a metre of fresh water: 1000 kg/m³ · 9.80665 m/s². By definition. [bar/m] */
const BAR_PER_METRE = 0.0980665;

/**
 * Pressure at the test section: gauge + static column − friction − groundwater. [bar]
 * @param gaugeBar        reading of the gauge, ≥ 0 [bar]
 * @param staticBar       pressure of the water column between gauge and section; negative where the section lies higher [bar]
 * @param frictionBar     head loss in the pipes, ≥ 0 [bar]
 * @param groundwaterBar  pressure of the groundwater at the section, ≥ 0 [bar]
 * @throws RangeError when an input is outside its range.
 * Source: by definition.
 */
export const netPressure = (
  gaugeBar: number,
  staticBar: number,
  frictionBar: number,
  groundwaterBar: number,
): number => {
  requireZeroOrMore({ gaugeBar, frictionBar, groundwaterBar });
  requireFinite({ staticBar });
  return gaugeBar + staticBar - frictionBar - groundwaterBar;
};

/**
 * Water take of a test section: Lu = 10 · Q / (L · P). [Lu]
 * @param flowLPerMin  flow into the section, ≥ 0 [l/min]
 * @param lengthM      length of the section, > 0 [m]
 * @param netBar       pressure at the section, > 0 [bar]
 * @throws RangeError when an input is outside its range.
 * Source: Lugeon; Houlsby 1976, Q. J. Eng. Geol. 9, 303–313. 1 Lu is 1 l/min per m at 10 bar.
 */
export const lugeon = (flowLPerMin: number, lengthM: number, netBar: number): number => {
  requireZeroOrMore({ flowLPerMin });
  requireAboveZero({ lengthM, netBar });
  return finiteResult('lugeon', (10 * flowLPerMin) / (lengthM * netBar));
};

export type FlowPattern = 'laminar' | 'turbulent' | 'dilation' | 'wash_out' | 'void_filling';

/** Relative difference up to which values count as equal. Project rule. [-] */
const ALIKE = 0.1;

/** The values, if there are exactly five. */
const five = <T>(values: readonly T[]): readonly [T, T, T, T, T] | undefined =>
  values.length === 5 ? (values as unknown as readonly [T, T, T, T, T]) : undefined;

/** Whether pressures rise from low over medium to the peak, and return to about the same medium and low. */
const isCycle = (netBar: readonly number[]): boolean => {
  const steps = five(netBar);
  if (!steps) return false;
  const [low, medium, peak, mediumAgain, lowAgain] = steps;
  const alike = (a: number, b: number): boolean => Math.abs(a - b) <= ALIKE * Math.max(a, b);
  return (
    low < medium &&
    medium < peak &&
    peak > mediumAgain &&
    mediumAgain > lowAgain &&
    alike(low, lowAgain) &&
    alike(medium, mediumAgain)
  );
};

/**
 * Flow pattern that the Lugeon values of a test in five steps (low, medium, peak, medium, low) suggest; undefined: none.
 * All within 10 % of their mean: laminar. Else by the returning steps over the first two, (L4 + L5) / (L1 + L2): above 1.1 wash-out,
 * below 0.9 void filling. Else by the peak over the mean of the other four: above 1.1 dilation, below 0.9 turbulent.
 * @param lugeons  of the steps in their order, ≥ 0 [Lu]
 * @param netBar   pressure at the section in each [bar]
 * @throws RangeError when a value is outside its range.
 * Source: patterns by Houlsby 1976; the limits that distinguish them: project rule.
 */
export const flowPattern = (
  lugeons: readonly number[],
  netBar: readonly number[],
): FlowPattern | undefined => {
  for (const value of lugeons) requireZeroOrMore({ lugeon: value });
  for (const value of netBar) requireAboveZero({ netBar: value });
  const steps = five(lugeons);
  if (!steps || !isCycle(netBar)) return undefined;
  const [low, medium, peak, mediumAgain, lowAgain] = steps;
  const mean = meanOf(steps);
  if (steps.every((value) => Math.abs(value - mean) <= ALIKE * mean)) return 'laminar';
  const [first, returning] = [low + medium, mediumAgain + lowAgain];
  if (returning > (1 + ALIKE) * first) return 'wash_out';
  if (returning < (1 - ALIKE) * first) return 'void_filling';
  const others = (first + returning) / 4;
  if (peak > (1 + ALIKE) * others) return 'dilation';
  if (peak < (1 - ALIKE) * others) return 'turbulent';
  return undefined;
};

const meanOf = (values: readonly number[]): number =>
  values.reduce((sum, value) => sum + value, 0) / values.length;

/**
 * Representative Lugeon value of a test: laminar the mean, turbulent that of the peak pressure, dilation the lowest, wash-out the highest,
 * void filling the last; without a pattern the highest. [Lu]
 * @param lugeons  of the steps in their order, at least one [Lu]
 * @param pattern  the flow pattern; undefined: none
 * @throws RangeError when there is no step.
 * Source: Houlsby 1976 as used by Quiñones-Rozo 2010, from memory; without a pattern: project rule, on the safe side.
 */
export const representativeLugeon = (
  lugeons: readonly number[],
  pattern: FlowPattern | undefined,
): number => {
  const last = lugeons.at(-1);
  if (last === undefined) throw new RangeError('lugeons is empty; a test has at least one step.');
  switch (pattern) {
    case 'laminar':
      return meanOf(lugeons);
    case 'turbulent':
      return lugeons[2] ?? last;
    case 'dilation':
      return Math.min(...lugeons);
    case 'void_filling':
      return last;
    case 'wash_out':
    case undefined:
      return Math.max(...lugeons);
  }
};

export type LugeonClass = 'very_low' | 'low' | 'moderate' | 'medium' | 'high' | 'very_high';

/** Upper limit of each class, exclusive. [Lu] */
const CLASSES: readonly (readonly [LugeonClass, number])[] = [
  ['very_low', 1],
  ['low', 5],
  ['moderate', 15],
  ['medium', 50],
  ['high', 100],
];

/**
 * Class of hydraulic conductivity by the Lugeon value: below 1 very low, 5 low, 15 moderate, 50 medium, up to 100 high, above very high.
 * @param lu  Lugeon value, ≥ 0 [Lu]
 * @throws RangeError when it is outside its range.
 * Source: Quiñones-Rozo 2010, the limits from memory; a limit belongs to the class above it, 100 to high: project rule.
 */
export const lugeonClass = (lu: number): LugeonClass => {
  requireZeroOrMore({ lu });
  if (lu === 100) return 'high';
  return CLASSES.find(([, below]) => lu < below)?.[0] ?? 'very_high';
};

/**
 * Hydraulic conductivity by Moye: K = Q · C / (L · H), C = (1 + ln(L / d)) / 2π. [m/s]
 * @param flowM3PerS  flow into the section, ≥ 0 [m³/s]
 * @param lengthM     length of the section, above the diameter of the hole [m]
 * @param diameterM   diameter of the hole, > 0 [m]
 * @param headM       head of the net pressure, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: Moye 1967, from memory. For sections that are long compared with the hole diameter.
 */
export const moyeConductivity = (
  flowM3PerS: number,
  lengthM: number,
  diameterM: number,
  headM: number,
): number => {
  requireZeroOrMore({ flowM3PerS });
  requireAboveZero({ lengthM, diameterM, headM });
  requireLonger(lengthM, diameterM);
  const shape = (1 + Math.log(lengthM / diameterM)) / (2 * Math.PI);
  return finiteResult('conductivity', (flowM3PerS * shape) / (lengthM * headM));
};

/**
 * Hydraulic conductivity by the form of Thiem, its radius of influence the length of the section: K = Q · ln(L / r) / (2π · L · H). [m/s]
 * @param flowM3PerS  flow into the section, ≥ 0 [m³/s]
 * @param lengthM     length of the section, above the diameter of the hole [m]
 * @param diameterM   diameter of the hole, 2r, > 0 [m]
 * @param headM       head of the net pressure, > 0 [m]
 * @throws RangeError when an input is outside its range.
 * Source: Thiem 1906, with R ≈ L. Stationary radial flow.
 */
export const thiemConductivity = (
  flowM3PerS: number,
  lengthM: number,
  diameterM: number,
  headM: number,
): number => {
  requireZeroOrMore({ flowM3PerS });
  requireAboveZero({ lengthM, diameterM, headM });
  requireLonger(lengthM, diameterM);
  const around = Math.log((2 * lengthM) / diameterM);
  return finiteResult('conductivity', (flowM3PerS * around) / (2 * Math.PI * lengthM * headM));
};

const requireLonger = (lengthM: number, diameterM: number): void => {
  if (lengthM > diameterM) return;
  throw new RangeError(`lengthM is ${lengthM}; it must be above the diameter of the hole of ${diameterM}.`);
};

/**
 * Flow and head that correspond to a Lugeon value: at 10 bar, one litre per minute and metre for each Lugeon.
 * @param lu       Lugeon value, ≥ 0 [Lu]
 * @param lengthM  length of the section, > 0 [m]
 * Source: by definition of the Lugeon.
 */
export const flowOfLugeon = (lu: number, lengthM: number): { flowM3PerS: number; headM: number } => ({
  flowM3PerS: (lu * lengthM) / 60_000,
  headM: 10 / BAR_PER_METRE,
});

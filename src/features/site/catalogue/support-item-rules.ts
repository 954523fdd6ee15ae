import { type Fault, faulty } from '../../../common/api/problem.js';
import type { SupportKind, SupportUnit } from '../../../generated/prisma/enums.js';
import type { SupportItemInput } from './support-item.model.js';

const UNITS: Record<SupportKind, SupportUnit[]> = {
  bolt: ['nr'],
  mesh: ['m2', 'kg', 't'],
  rib: ['nr', 'm', 'kg', 't'],
  lattice_girder: ['nr', 'm', 'kg', 't'],
  lagging: ['nr', 'm2'],
  sprayed_concrete: ['m2', 'm3'],
  cast_concrete: ['m3'],
  cavity_fill: ['m3', 'kg', 't'],
  spile: ['nr', 'm'],
  drain: ['nr', 'm'],
  invert_segment: ['nr', 'm'],
};

/** The same in words, such as "nr for bolt; m2, kg or t for mesh". */
export const UNITS_IN_WORDS = Object.entries(UNITS)
  .map(([kind, units]) => `${units.join(', ').replace(/, (?=[^,]*$)/, ' or ')} for ${kind.replace('_', ' ')}`)
  .join('; ');

/** Kinds that may be a full ring. */
const RINGS: SupportKind[] = ['rib', 'lattice_girder'];

/** Dimensions limited to some kinds. The others were unrestricted from the start, so existing records may have them with any kind. */
const KINDS = {
  diameterMm: ['bolt', 'spile', 'drain'],
  circumferentialSpacingM: ['bolt'],
  longitudinalSpacingM: ['bolt', ...RINGS],
  patternArcDeg: ['bolt'],
  centreLineDiameterM: RINGS,
  sheetLengthM: ['mesh'],
  sheetWidthM: ['mesh'],
  lapPercent: ['mesh'],
  massKg: ['invert_segment', 'lagging'],
  theoreticalThicknessMm: ['sprayed_concrete'],
  reboundPercent: ['sprayed_concrete'],
  overbreakPercent: ['sprayed_concrete'],
} satisfies Partial<Record<keyof SupportItemInput, SupportKind[]>>;

type Dimension = keyof typeof KINDS;

const DIMENSIONS = Object.keys(KINDS) as Dimension[];

/** Fields that a PUT of an item clears when they are left out. */
export const OPTIONAL = [
  'lengthM',
  'capacityKn',
  'profile',
  'massKgPerM',
  'massKgPerM2',
  'mix',
  ...DIMENSIONS,
] as const;

const named = (kind: SupportKind): string => kind.replace('_', ' ');

/** @throws ProblemError invalid with every rule across fields that the item breaks */
export const assertSupportItem = (item: SupportItemInput): void => {
  const faults: Fault[] = [];
  const refuse = (field: keyof SupportItemInput, detail: string): void => {
    faults.push({ in: 'body', pointer: `/${field}`, value: item[field], detail });
  };
  const units = UNITS[item.kind];
  if (!units.includes(item.unit))
    refuse(
      'unit',
      `unit ${item.unit} does not fit a ${named(item.kind)}: it is counted in ${units.join(' or ')}`,
    );
  for (const field of DIMENSIONS) {
    const kinds: SupportKind[] = KINDS[field];
    if (item[field] != null && !kinds.includes(item.kind))
      refuse(
        field,
        `${field} does not fit a ${named(item.kind)}: it belongs to ${kinds.map(named).join(' or ')}`,
      );
  }
  const together = (one: Dimension, other: Dimension): void => {
    if ((item[one] == null) === (item[other] == null)) return;
    const [given, missing] = item[one] == null ? [other, one] : [one, other];
    refuse(missing, `${missing} is missing: ${given} is given, and neither is enough alone`);
  };
  if (item.kind === 'bolt') together('circumferentialSpacingM', 'longitudinalSpacingM');
  if (item.kind === 'mesh') together('sheetLengthM', 'sheetWidthM');
  if (RINGS.includes(item.kind) && item.lengthM != null && item.centreLineDiameterM != null)
    refuse(
      'centreLineDiameterM',
      `a ${named(item.kind)} has its developed length or the diameter of its centre line, not both: either gives its mass`,
    );
  if (faults.length > 0) throw faulty('invalid', faults);
};

import { type Fault, faulty } from '../../common/api/problem.js';
import type { SupportKind, SupportUnit } from '../../generated/prisma/enums.js';
import type { SupportItemInput } from './support-item.model.js';

const UNITS: Record<SupportKind, SupportUnit[]> = {
  bolt: ['nr'],
  rib: ['nr'],
  spile: ['nr'],
  invert_segment: ['nr'],
  mesh: ['m2'],
  sprayed_concrete: ['m2', 'm3'],
};

/** Dimensions that belong to some kinds only. The others were free from the start: records may have them anywhere. */
const KINDS = {
  diameterMm: ['bolt', 'spile'],
  circumferentialSpacingM: ['bolt'],
  longitudinalSpacingM: ['bolt', 'rib'],
  patternArcDeg: ['bolt'],
  centreLineDiameterM: ['rib'],
  sheetLengthM: ['mesh'],
  sheetWidthM: ['mesh'],
  lapPercent: ['mesh'],
  massKg: ['invert_segment'],
  theoreticalThicknessMm: ['sprayed_concrete'],
  reboundPercent: ['sprayed_concrete'],
  overbreakPercent: ['sprayed_concrete'],
} satisfies Partial<Record<keyof SupportItemInput, SupportKind[]>>;

type Dimension = keyof typeof KINDS;

const DIMENSIONS = Object.keys(KINDS) as Dimension[];

/** What a put of an item empties when it is not given. */
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

/** @throws ProblemError invalid with every rule between the fields that the item breaks */
export const holdSupportItem = (item: SupportItemInput): void => {
  const faults: Fault[] = [];
  const refuse = (field: keyof SupportItemInput, detail: string): void => {
    faults.push({ in: 'body', pointer: `/${field}`, value: item[field], detail });
  };
  const units = UNITS[item.kind];
  if (!units.includes(item.unit))
    refuse('unit', `unit ${item.unit} does not fit a ${item.kind}: it is counted in ${units.join(' or ')}`);
  for (const field of DIMENSIONS) {
    const kinds: SupportKind[] = KINDS[field];
    if (item[field] != null && !kinds.includes(item.kind))
      refuse(field, `${field} does not fit a ${item.kind}: it belongs to ${kinds.map(named).join(' or ')}`);
  }
  const together = (one: Dimension, other: Dimension): void => {
    if ((item[one] == null) === (item[other] == null)) return;
    const [given, missing] = item[one] == null ? [other, one] : [one, other];
    refuse(missing, `${missing} is missing: ${given} is given, and neither says enough alone`);
  };
  if (item.kind === 'bolt') together('circumferentialSpacingM', 'longitudinalSpacingM');
  if (item.kind === 'mesh') together('sheetLengthM', 'sheetWidthM');
  if (item.kind === 'rib' && item.lengthM != null && item.centreLineDiameterM != null)
    refuse(
      'centreLineDiameterM',
      'a rib has its developed length or the diameter of its centre line, not both: either gives its mass',
    );
  if (faults.length > 0) throw faulty('invalid', faults);
};

import type { Fault } from '../../../common/api/problem.js';
import { type CodeKind, unknownCode } from '../../../common/unknown-code.js';
import type { MeasureDimension, MeasureSource } from '../../../generated/prisma/enums.js';
import type { MeasurementRuleInput } from './measurement.models.js';

/** What a rule can refer to. */
export interface RuleContext {
  unit: string;
  items: {
    code: string;
    unit: string;
    hasLength: boolean;
    hasMass: boolean;
  }[];
  zones: string[];
  classes: string[];
  activities: string[];
}

const DIMENSIONS: Record<MeasureSource, readonly MeasureDimension[]> = {
  advance: ['length', 'area', 'volume'],
  support: ['count', 'length', 'area', 'volume', 'mass'],
  probing: ['count', 'length'],
  grouting: ['count', 'length', 'hours', 'mass', 'volume'],
  time: ['hours'],
  lump: ['percent'],
};

/** Units that a bill may use for a dimension; a lump sum may have any. */
const UNITS: Partial<Record<MeasureDimension, readonly string[]>> = {
  count: ['nr'],
  length: ['m'],
  area: ['m2', 'm²'],
  volume: ['m3', 'm³'],
  mass: ['kg', 't'],
  hours: ['h'],
};

type Filter = Exclude<keyof MeasurementRuleInput, 'source' | 'dimension'>;

const FILTERS: Record<MeasureSource, readonly Filter[]> = {
  advance: ['classes', 'lithologies', 'payDiameterM', 'allowancePercent', 'minPerM', 'maxPerM'],
  support: [
    'items',
    'kinds',
    'zones',
    'classes',
    'lithologies',
    'payDiameterM',
    'allowancePercent',
    'minPerM',
    'maxPerM',
  ],
  probing: ['methods', 'classes', 'lithologies', 'allowancePercent', 'minPerM', 'maxPerM'],
  grouting: ['purposes', 'materials', 'classes', 'lithologies', 'allowancePercent', 'minPerM', 'maxPerM'],
  time: ['activities', 'timeClasses', 'parties', 'allowancePercent'],
  lump: [],
};

const ALL_FILTERS = [...new Set(Object.values(FILTERS).flat())];

const fault = (pointer: string, value: unknown, detail: string): Fault => ({
  in: 'body',
  pointer,
  value,
  detail,
});

const shapeFaults = (rule: MeasurementRuleInput, unit: string): Fault[] => {
  const dimensions = DIMENSIONS[rule.source];
  const units = UNITS[rule.dimension];
  return [
    ...(dimensions.includes(rule.dimension)
      ? []
      : [
          fault(
            '/dimension',
            rule.dimension,
            `dimension ${rule.dimension} does not fit source ${rule.source}: it is measured by ${dimensions.join(', ')}`,
          ),
        ]),
    ...(units && !units.includes(unit)
      ? [
          fault(
            '/dimension',
            rule.dimension,
            `dimension ${rule.dimension} does not fit the item's unit ${unit}: it is measured in ${units.join(' or ')}`,
          ),
        ]
      : []),
    ...ALL_FILTERS.filter((name) => rule[name] != null && !FILTERS[rule.source].includes(name)).map((name) =>
      fault(`/${name}`, rule[name], `${name} does not fit source ${rule.source}`),
    ),
    ...(rule.minPerM != null && rule.maxPerM != null && Number(rule.minPerM) > Number(rule.maxPerM)
      ? [fault('/minPerM', rule.minPerM, `minPerM ${rule.minPerM} exceeds maxPerM ${rule.maxPerM}`)]
      : []),
    ...(rule.materials != null && rule.source === 'grouting' && !['mass', 'volume'].includes(rule.dimension)
      ? [
          fault(
            '/materials',
            rule.materials,
            `materials does not fit dimension ${rule.dimension}: a hole may take several`,
          ),
        ]
      : []),
    ...(rule.payDiameterM != null && rule.source === 'support' && !['area', 'volume'].includes(rule.dimension)
      ? [fault('/payDiameterM', rule.payDiameterM, `payDiameterM does not fit dimension ${rule.dimension}`)]
      : []),
  ];
};

const unknownNames = (
  field: 'items' | 'zones' | 'classes' | 'activities',
  names: string[] = [],
  known: string[],
  kind: CodeKind,
): Fault[] =>
  names.flatMap((name, index) =>
    known.includes(name) ? [] : [fault(`/${field}/${index}`, name, unknownCode(kind, name, known))],
  );

/** Why an item cannot be measured by a rule; undefined: it can. */
const itemFault = (
  { dimension, payDiameterM }: MeasurementRuleInput,
  item: RuleContext['items'][number],
): string | undefined => {
  const { code, unit } = item;
  if (dimension === 'count' && unit !== 'nr') return `${code} is counted in ${unit}: it has no count`;
  if (dimension === 'length' && unit !== 'nr' && unit !== 'm')
    return `${code} is counted in ${unit}: it has no length`;
  if (dimension === 'length' && unit === 'nr' && !item.hasLength)
    return `${code} has no length in the catalogue`;
  if (dimension === 'mass' && !item.hasMass) return `${code} has no mass in the catalogue`;
  if (payDiameterM != null) return undefined;
  if (dimension === 'area' && unit !== 'm2') return `${code} is counted in ${unit}: it has no area`;
  if (dimension === 'volume' && unit !== 'm2' && unit !== 'm3')
    return `${code} is counted in ${unit}: it has no volume`;
  return undefined;
};

/** Every fault of a rule: of its form, and of its references. */
export const ruleFaults = (rule: MeasurementRuleInput, context: RuleContext): Fault[] => [
  ...shapeFaults(rule, context.unit),
  ...unknownNames(
    'items',
    rule.items,
    context.items.map(({ code }) => code),
    'support item',
  ),
  ...unknownNames('zones', rule.zones, context.zones, 'zone'),
  ...unknownNames('classes', rule.classes, context.classes, 'ground class'),
  ...unknownNames('activities', rule.activities, context.activities, 'activity code'),
  ...(rule.items ?? []).flatMap((code, index) => {
    const item = context.items.find((candidate) => candidate.code === code);
    const detail = item && rule.source === 'support' ? itemFault(rule, item) : undefined;
    return detail === undefined ? [] : [fault(`/items/${index}`, code, detail)];
  }),
];

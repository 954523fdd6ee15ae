import type { MeasurementRuleInput } from './measurement.models.js';

const listed = (names: readonly string[], last = 'or'): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} ${last} ${names.at(-1)}`;

const said = (name: string): string => name.replaceAll('_', ' ');

const SUBJECTS: Record<string, string> = {
  'advance length': 'metres bored',
  'advance area': 'excavated surface of the bore',
  'advance volume': 'excavated volume of the bore',
  'support count': 'number of pieces of support installed',
  'support length': 'length of the pieces of support installed',
  'support area': 'area of support installed',
  'support volume': 'volume of support installed',
  'support mass': 'mass of support installed',
  'probing count': 'number of probe holes',
  'probing length': 'length of probe holes',
  'grouting count': 'number of holes grouted',
  'grouting length': 'length of holes grouted',
  'grouting hours': 'grouting time of holes',
  'grouting mass': 'dry mass of grout',
  'grouting volume': 'volume of grout',
  'time hours': 'time booked',
  'lump percent': 'share of the lump sum that its progress says is done',
};

const filters = (rule: MeasurementRuleInput): string[] => [
  ...(rule.items ? [`of ${listed(rule.items)}`] : []),
  ...(rule.kinds ? [`of kind ${listed(rule.kinds.map(said))}`] : []),
  ...(rule.zones ? [`in zone ${listed(rule.zones)}`] : []),
  ...(rule.methods ? [`drilled by ${listed(rule.methods.map(said))} method`] : []),
  ...(rule.purposes ? [`in ${listed(rule.purposes.map(said))}`] : []),
  ...(rule.materials ? [`of ${listed(rule.materials)}`] : []),
  ...(rule.activities ? [`under ${listed(rule.activities)}`] : []),
  ...(rule.timeClasses ? [`that counts as ${listed(rule.timeClasses.map(said))}`] : []),
  ...(rule.parties ? [`for which the ${listed(rule.parties.map(said))} is responsible`] : []),
  ...(rule.classes ? [`where the governing ground class is ${listed(rule.classes)}`] : []),
  ...(rule.lithologies ? [`in ${listed(rule.lithologies)}`] : []),
  ...(rule.payDiameterM ? [`at a pay line of ${rule.payDiameterM} m diameter`] : []),
];

const limits = ({ minPerM, maxPerM }: MeasurementRuleInput, unit: string): string[] => {
  const bounds = [
    ...(minPerM == null ? [] : [`at least ${minPerM} ${unit}`]),
    ...(maxPerM == null ? [] : [`at most ${maxPerM} ${unit}`]),
  ];
  return bounds.length > 0 ? [`${listed(bounds, 'and')} per metre bored in that ground`] : [];
};

/** The event that must fall in a countersigned shift, for records that are not part of one. */
const DONE: Record<string, string> = { probing: 'drilled ', grouting: 'ended ' };

/** A rule in one sentence, with the unit and the decimals of its item. */
export const ruleSentence = (
  rule: MeasurementRuleInput,
  { unit, decimals }: { unit: string; decimals: number },
): string => {
  const subject = SUBJECTS[`${rule.source} ${rule.dimension}`] ?? `${rule.dimension} of ${rule.source}`;
  const allowance = rule.allowancePercent == null ? [] : [`with ${rule.allowancePercent} % added`];
  const done = DONE[rule.source] ?? '';
  const where = rule.source === 'lump' ? [] : [`${done}in countersigned shifts`];
  const sentence = [
    [subject, ...filters(rule), ...where].join(' '),
    ...allowance,
    ...limits(rule, unit),
    `in ${unit}, rounded once to ${decimals} decimal${decimals === 1 ? '' : 's'}`,
  ].join('; ');
  return `The ${sentence}.`;
};

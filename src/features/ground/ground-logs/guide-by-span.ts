import { boltLength, equivalentDimension, wallBoltLength } from '../../../engineering/q-system.js';
import type { GuideFigure, SupportGuide } from './support-guide.models.js';

const BARTON = 'Barton, Lien and Lunde 1974';

/** Caution for every length and size of support: the drive is bored, not blasted. */
export const MACHINE_CAUTION =
  'Gathered in drill and blast tunnels. This drive is bored by machine, and a machine bore usually needs less: for comparison only.';

/** Rounds to 6 significant digits: none of these methods is more precise. */
export const rounded = (value: number): number => Number(value.toPrecision(6));

export const text = (value: number): string => String(rounded(value));

/** Inputs of a support guide, beside its log. */
export type GuideCase = Pick<
  SupportGuide,
  'spanM' | 'wallHeightM' | 'support' | 'esr' | 'esrType' | 'esrCounted'
>;

/** For temporary support, the rules of the handbook apply; they are from memory. */
export const found = ({ support }: GuideCase): Pick<GuideFigure, 'source' | 'mark'> =>
  support === 'temporary'
    ? { source: `${BARTON}; for temporary support NGI handbook`, mark: 'memory' }
    : { source: BARTON, mark: 'transcribed' };

export const esrText = ({ support, esrCounted }: GuideCase): string =>
  `ESR ${text(esrCounted)}${support === 'temporary' ? ', 1.5 times that given' : ''}`;

export const bySpan = (asked: GuideCase): GuideFigure[] => {
  const { spanM, wallHeightM, esrCounted: esr } = asked;
  const inputs = `span ${spanM} m, ${esrText(asked)}`;
  return [
    {
      figure: 'equivalent_dimension',
      value: equivalentDimension(spanM, esr),
      unit: 'm',
      formula: 'De = span / ESR',
      inputs,
      ...found(asked),
    },
    {
      figure: 'bolt_length',
      value: boltLength(spanM, esr),
      unit: 'm',
      formula: 'L = 2 + 0.15 · span / ESR',
      inputs,
      ...found(asked),
      remark: 'Bolts of the crown.',
      caution: MACHINE_CAUTION,
    },
    ...(wallHeightM === undefined
      ? []
      : [
          {
            figure: 'bolt_length_wall',
            value: wallBoltLength(wallHeightM, esr),
            unit: 'm',
            formula: 'L = 2 + 0.15 · wall height / ESR',
            inputs: `wall height ${wallHeightM} m, ${esrText(asked)}`,
            source: 'NGI handbook',
            mark: 'memory',
            remark: 'Bolts of the walls.',
            caution: MACHINE_CAUTION,
          } as const,
        ]),
  ];
};

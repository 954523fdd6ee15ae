import { rqdFromFrequency, rqdFromJv1982, rqdFromJv2005 } from '../../../engineering/rqd.js';
import type { GroundLog } from './ground-log.models.js';
import { byQ } from './guide-by-q.js';
import { byRmr } from './guide-by-rmr.js';
import { bySpan, type GuideCase, rounded } from './guide-by-span.js';
import type { GuideFigure } from './support-guide.models.js';

const WAYS_DIFFER = 'The two lines differ: by 3 points at Jv 10, 11 at Jv 20, 22.5 at Jv 35.';

const rqdBy = ({ jvPerM3, jointFrequencyPerM }: GroundLog): GuideFigure[] => [
  ...(jvPerM3 == null
    ? []
    : [
        {
          figure: 'rqd_from_jv_1982',
          value: rqdFromJv1982(jvPerM3),
          unit: '%',
          formula: 'RQD = 115 − 3.3 · Jv; 100 below 4.5, 0 from 35 on',
          inputs: `Jv ${jvPerM3} 1/m³`,
          source: 'Palmström 1974/1982',
          mark: 'read',
          remark: WAYS_DIFFER,
        } as const,
        {
          figure: 'rqd_from_jv_2005',
          value: rqdFromJv2005(jvPerM3),
          unit: '%',
          formula: 'RQD = 110 − 2.5 · Jv; 100 below 4, 0 from 44 on',
          inputs: `Jv ${jvPerM3} 1/m³`,
          source: 'Palmström 2005',
          mark: 'read',
          remark: WAYS_DIFFER,
        } as const,
      ]),
  ...(jointFrequencyPerM == null
    ? []
    : [
        {
          figure: 'rqd_from_frequency',
          value: rqdFromFrequency(jointFrequencyPerM),
          unit: '%',
          formula: 'RQD = 100 · e^(−0.1 λ) · (0.1 λ + 1), λ all joints per metre along a line',
          inputs: `λ ${jointFrequencyPerM} 1/m`,
          source: 'Priest and Hudson 1976',
          mark: 'transcribed',
          remark: 'For exponentially distributed spacings; along another line λ differs.',
        } as const,
      ]),
];

const ROUNDED = ['value', 'lowest', 'highest'] as const;

/** The figures that can be derived from a log. */
export const guideFigures = (log: GroundLog, asked: GuideCase): GuideFigure[] => {
  const figures = [...bySpan(asked), ...byQ(log, asked), ...byRmr(log), ...rqdBy(log)];
  for (const figure of figures)
    for (const name of ROUNDED) if (figure[name] !== undefined) figure[name] = rounded(figure[name]);
  return figures;
};

/** The figures that cannot be derived from a log and why, in words; undefined if there are none. */
export const unanswered = ({ q, rmr, jvPerM3, jointFrequencyPerM }: GroundLog): string | undefined => {
  const reasons = [
    q ? [] : ['no unsupported span, no Q of the walls and no RMR by correlation: the log is not rated by Q'],
    rmr ? [] : ['no support by RMR, no GSI and no Q by correlation: the log is not rated by RMR'],
    jvPerM3 == null ? ['no RQD by joint count: Jv is not recorded'] : [],
    jointFrequencyPerM == null
      ? [
          'no RQD by frequency: the frequency of joints along a line is not recorded, and the spacing of one set does not give it',
        ]
      : [],
  ].flat();
  return reasons.length > 0 ? reasons.join('; ') : undefined;
};

import { gsiFromJCond89, gsiFromRmr89 } from '../../engineering/gsi.js';
import {
  boltLength,
  equivalentDimension,
  maximumUnsupportedSpan,
  temporaryQ,
  wallBoltLength,
  wallQ,
} from '../../engineering/q-system.js';
import { rmrEdition } from '../../engineering/rating-tables/editions.js';
import {
  qFromRmrBarton,
  qFromRmrBieniawski,
  rmrFromQBarton,
  rmrFromQBieniawski,
} from '../../engineering/rock-mass-correlations.js';
import { jointFrequency, rqdFromFrequency, rqdFromJv1982, rqdFromJv2005 } from '../../engineering/rqd.js';
import type { GroundLog } from './ground-log.models.js';
import type { RmrRating } from './rating.models.js';
import type { GuideFigure, SupportGuide } from './support-guide.models.js';

const BARTON = 'Barton, Lien and Lunde 1974';
const SCATTER =
  'Q and RMR are two ratings: for one rock they differ by tens of points. For comparison, never for the record.';
const WAYS_DIFFER = 'The two lines differ: by 3 points at Jv 10, 11 at Jv 20, 22.5 at Jv 35.';

const text = (value: number): string => String(Number(value.toPrecision(6)));

/** What a guide is asked for, beside its log. */
export type GuideCase = Pick<SupportGuide, 'spanM' | 'wallHeightM' | 'support' | 'esrCounted'>;

/** Temporary support counts by rules of the handbook, which are from memory. */
const found = ({ support }: GuideCase): Pick<GuideFigure, 'source' | 'mark'> =>
  support === 'temporary'
    ? { source: `${BARTON}; for temporary support NGI handbook`, mark: 'memory' }
    : { source: BARTON, mark: 'transcribed' };

const esrText = ({ support, esrCounted }: GuideCase): string =>
  `ESR ${text(esrCounted)}${support === 'temporary' ? ', 1.5 times that given' : ''}`;

const bySpan = (asked: GuideCase): GuideFigure[] => {
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
          } as const,
        ]),
  ];
};

const byQ = ({ q: rating }: GroundLog, asked: GuideCase): GuideFigure[] => {
  if (!rating) return [];
  const { q, edition } = rating;
  const inputs = `Q ${text(q)}`;
  const isTemporary = asked.support === 'temporary';
  const counted = isTemporary ? temporaryQ(q) : q;
  return [
    ...(isTemporary
      ? [
          {
            figure: 'q_temporary',
            value: counted,
            unit: '-',
            formula: '5 · Q',
            inputs,
            edition,
            source: 'NGI handbook',
            mark: 'memory',
            remark: 'For temporary support.',
          } as const,
        ]
      : []),
    {
      figure: 'maximum_unsupported_span',
      value: maximumUnsupportedSpan(counted, asked.esrCounted),
      unit: 'm',
      formula: '2 · ESR · Q^0.4',
      inputs: `Q ${text(counted)}${isTemporary ? ', 5 times that of the log' : ''}, ${esrText(asked)}`,
      edition,
      ...found(asked),
      remark: 'At this span itself support is required.',
    },
    {
      figure: 'q_wall',
      value: wallQ(q),
      unit: '-',
      formula: '5·Q above 10; 2.5·Q above 0.1 to 10; Q at 0.1 and below',
      inputs,
      edition,
      source: 'NGI handbook',
      mark: 'memory',
      remark: isTemporary ? 'For walls; by the Q of the log, not that of temporary support.' : 'For walls.',
    },
    {
      figure: 'rmr_from_q_bieniawski',
      value: rmrFromQBieniawski(q),
      unit: '-',
      formula: 'RMR = 9 · ln Q + 44',
      inputs,
      edition,
      source: 'Bieniawski, in Palmström 2009',
      mark: 'read',
      remark: SCATTER,
    },
    {
      figure: 'rmr_from_q_barton',
      value: rmrFromQBarton(q),
      unit: '-',
      formula: 'RMR = 15 · log10 Q + 50',
      inputs,
      edition,
      source: 'Barton 1995',
      mark: 'memory',
      remark: SCATTER,
    },
  ];
};

const gsiBy = (rating: RmrRating, rqdPercent: number): GuideFigure[] => {
  const { strengthRating, rqdRating, spacingRating, conditionRating, edition } = rating;
  const gsi = gsiFromRmr89({
    strength: strengthRating,
    rqd: rqdRating,
    spacing: spacingRating,
    condition: conditionRating,
  });
  return [
    {
      figure: 'gsi_from_rmr89',
      value: gsi,
      unit: '-',
      formula: 'GSI = RMR89 − 5, with R5 = 15 and R6 = 0; for RMR89 above 23',
      inputs: `R1 ${strengthRating}, R2 ${rqdRating}, R3 ${spacingRating}, R4 ${conditionRating}`,
      edition,
      source: 'Hoek, Kaiser and Bawden 1995',
      mark: 'transcribed',
      ...(gsi === undefined ? { remark: 'No answer: RMR89 with R5 = 15 and R6 = 0 is not above 23.' } : {}),
    },
    {
      figure: 'gsi_from_jcond89',
      value: gsiFromJCond89(conditionRating, rqdPercent),
      unit: '-',
      formula: 'GSI = 1.5 · JCond89 + RQD / 2, JCond89 = R4',
      inputs: `R4 ${conditionRating}, RQD ${rqdPercent} %`,
      edition,
      source: 'Hoek, Carter and Diederichs 2013',
      mark: 'transcribed',
    },
  ];
};

const byRmr = ({ rmr: rating, rqdPercent }: GroundLog): GuideFigure[] => {
  if (!rating) return [];
  const { rmr, rmrClass, edition } = rating;
  const guide = rmrEdition(edition)?.tables.support_guide;
  const inputs = `RMR ${rmr}`;
  return [
    ...(guide
      ? [
          {
            figure: 'rmr_support_guide',
            text: guide.rows.find(({ row }) => row === rmrClass)?.description,
            formula: guide.title,
            inputs: `${inputs}, class ${rmrClass}`,
            edition,
            source: guide.source,
            mark: guide.mark,
            remark: guide.rule,
          } as const,
        ]
      : []),
    ...(rqdPercent == null ? [] : gsiBy(rating, rqdPercent)),
    {
      figure: 'q_from_rmr_bieniawski',
      value: qFromRmrBieniawski(rmr),
      unit: '-',
      formula: 'Q = e^((RMR − 44) / 9)',
      inputs,
      edition,
      source: 'Bieniawski, in Palmström 2009',
      mark: 'read',
      remark: SCATTER,
    },
    {
      figure: 'q_from_rmr_barton',
      value: qFromRmrBarton(rmr),
      unit: '-',
      formula: 'Q = 10^((RMR − 50) / 15)',
      inputs,
      edition,
      source: 'Barton 1995',
      mark: 'memory',
      remark: SCATTER,
    },
  ];
};

const rqdBy = ({ jvPerM3, jointSpacingM }: GroundLog): GuideFigure[] => [
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
  ...(jointSpacingM == null
    ? []
    : [
        {
          figure: 'rqd_from_frequency',
          value: rqdFromFrequency(jointFrequency(jointSpacingM)),
          unit: '%',
          formula: 'RQD = 100 · e^(−0.1 λ) · (0.1 λ + 1), λ = 1 / spacing',
          inputs: `spacing ${jointSpacingM} m`,
          source: 'Priest and Hudson 1976',
          mark: 'transcribed',
          remark: 'λ is that of a line along which the spacing was measured.',
        } as const,
      ]),
];

/** The figures that a log allows. */
export const guideFigures = (log: GroundLog, asked: GuideCase): GuideFigure[] => [
  ...bySpan(asked),
  ...byQ(log, asked),
  ...byRmr(log),
  ...rqdBy(log),
];

/** Which figures a log does not allow and why, in words; undefined when it allows all. */
export const unanswered = ({ q, rmr, jvPerM3, jointSpacingM }: GroundLog): string | undefined => {
  const reasons = [
    q ? [] : ['no unsupported span, no Q of the walls and no RMR by correlation: the log is not rated by Q'],
    rmr ? [] : ['no support by RMR, no GSI and no Q by correlation: the log is not rated by RMR'],
    jvPerM3 == null ? ['no RQD by joint count: Jv is not recorded'] : [],
    jointSpacingM == null ? ['no RQD by frequency: the joint spacing is not recorded'] : [],
  ].flat();
  return reasons.length > 0 ? reasons.join('; ') : undefined;
};

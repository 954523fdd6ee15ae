import { temporaryQ, wallQ } from '../../../engineering/q-system.js';
import {
  BIENIAWSKI_SPREAD,
  rmrFromQBarton,
  rmrFromQBieniawski,
} from '../../../engineering/rock-mass-correlations.js';
import { unsupportedFaults, unsupportedSpan } from '../../../engineering/unsupported-span.js';
import type { GroundLog } from './ground-log.models.js';
import { esrText, found, type GuideCase, MACHINE_CAUTION, text } from './guide-by-span.js';
import { NO_SPREAD, SCATTER, WITHOUT_ORIENTATION } from './guide-by-rmr.js';
import type { QRating } from './rating.models.js';
import type { GuideFigure } from './support-guide.models.js';

/** At and below this Q the handbook recommends another ESR for some types of excavation. */
const ADVISED_BELOW_Q = 0.1;
const ADVISED_ESR = 1;
/** ESR from which type A, temporary mine openings, begins. */
const MINE_ESR = 3;

const esrAdvice = ({ q, edition }: QRating, { esr, esrType }: GuideCase): GuideFigure[] => {
  const isOfType = esrType === undefined ? esr < MINE_ESR : /^[BCD]/.test(esrType);
  if (q > ADVISED_BELOW_Q || esr <= ADVISED_ESR || !isOfType) return [];
  return [
    {
      figure: 'esr_advised',
      value: ADVISED_ESR,
      unit: '-',
      formula: 'ESR 1.0 where Q ≤ 0.1, for types B, C and D',
      inputs: `Q ${text(q)}, ESR ${text(esr)}${esrType === undefined ? '' : `, type ${esrType}`}`,
      edition,
      source: 'NGI handbook',
      mark: 'memory',
      remark: `Advice; the figures here count with the ESR given.${esrType === undefined ? ' It is for types B, C and D: esrType was not given.' : ''}`,
    },
  ];
};

const temporary = ({ q, edition }: QRating): GuideFigure => ({
  figure: 'q_temporary',
  value: temporaryQ(q),
  unit: '-',
  formula: '5 · Q',
  inputs: `Q ${text(q)}`,
  edition,
  source: 'NGI handbook',
  mark: 'memory',
  remark: 'For temporary support.',
});

const unsupported = (rating: QRating, rqdPercent: number, asked: GuideCase): GuideFigure => {
  const isTemporary = asked.support === 'temporary';
  const q = isTemporary ? temporaryQ(rating.q) : rating.q;
  const of = {
    rqdPercent,
    jn: rating.jnCounted,
    jr: rating.jrCounted,
    ja: Number(rating.ja.value),
    jw: rating.jwCounted,
    srf: rating.srfCounted,
  };
  const faults = unsupportedFaults(of, asked.spanM);
  return {
    figure: 'maximum_unsupported_span',
    ...(faults.length > 0 ? {} : { value: unsupportedSpan(q, asked.esrCounted, of) }),
    unit: 'm',
    formula: '2 · ESR · Q^0.4, where the conditions of 1974 for an opening without support hold',
    inputs: `Q ${text(q)}${isTemporary ? ', 5 times that of the log' : ''}, ${esrText(asked)}, span ${asked.spanM} m, RQD ${rqdPercent} %, Jn ${of.jn}, Jr ${of.jr}, Ja ${of.ja}, Jw ${of.jw}, SRF ${of.srf}`,
    edition: rating.edition,
    source: `${found(asked).source}; the conditions from memory`,
    mark: 'memory',
    remark:
      faults.length > 0
        ? `No span without support: ${faults.join('; ')}.`
        : 'At this span itself support is required. Not above 10 m unless Jn is below 9, nor above 20 m unless Jn ≤ 4 and SRF ≤ 1.',
    caution: MACHINE_CAUTION,
  };
};

const correlated = ({ q, edition }: QRating): GuideFigure[] => {
  const inputs = `Q ${text(q)}`;
  const rmr = rmrFromQBieniawski(q);
  return [
    {
      figure: 'rmr_from_q_bieniawski',
      value: rmr,
      unit: '-',
      spread: BIENIAWSKI_SPREAD,
      lowest: rmr - BIENIAWSKI_SPREAD,
      highest: rmr + BIENIAWSKI_SPREAD,
      formula: 'RMR = 9 · ln Q + 44, RMR without orientation (R6 = 0)',
      inputs,
      edition,
      source: 'Bieniawski 1976, in Palmström 2009; the spread from memory',
      mark: 'read',
      remark: `${WITHOUT_ORIENTATION} ${SCATTER}`,
    },
    {
      figure: 'rmr_from_q_barton',
      value: rmrFromQBarton(q),
      unit: '-',
      formula: 'RMR = 15 · log10 Q + 50, RMR without orientation (R6 = 0)',
      inputs,
      edition,
      source: 'Barton 1995',
      mark: 'memory',
      remark: `${NO_SPREAD} ${WITHOUT_ORIENTATION} ${SCATTER}`,
    },
  ];
};

/** The figures that can be derived from the Q of a log. */
export const byQ = ({ q: rating, rqdPercent }: GroundLog, asked: GuideCase): GuideFigure[] => {
  if (!rating || rqdPercent == null) return [];
  const isTemporary = asked.support === 'temporary';
  return [
    ...(isTemporary ? [temporary(rating)] : []),
    ...esrAdvice(rating, asked),
    unsupported(rating, rqdPercent, asked),
    {
      figure: 'q_wall',
      value: wallQ(rating.q),
      unit: '-',
      formula: '5·Q above 10; 2.5·Q above 0.1 to 10; Q at 0.1 and below',
      inputs: `Q ${text(rating.q)}`,
      edition: rating.edition,
      source: 'NGI handbook',
      mark: 'memory',
      remark: isTemporary ? 'For walls; by the Q of the log, not that of temporary support.' : 'For walls.',
    },
    ...correlated(rating),
  ];
};

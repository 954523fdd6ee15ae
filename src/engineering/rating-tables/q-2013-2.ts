import { Q_2013 } from './q-2013.js';
import { THICK_CLAY_FRICTION_DEG, withFriction } from './q-friction.js';
import type { AdjustmentForm, QEdition, RatingAdjustment, RatingRow } from './tables.js';

const NOTES = 'NGI, Using the Q-system (handbook 2013, 2022), notes to the tables; not opened';

const noted = (
  name: string,
  rows: readonly string[],
  form: AdjustmentForm,
  note: string,
): RatingAdjustment => ({ name, rows, note, form, source: NOTES, mark: 'memory' });

/** σc/σ1 of the rows of competent rock. */
const STRENGTH_RATIO: Readonly<Record<string, readonly [number, number?]>> = {
  F: [200],
  G: [10, 200],
  H: [5, 10],
  J: [3, 5],
  K: [2, 3],
  L: [0, 2],
};

const withStrengthRatio = (row: RatingRow): RatingRow => {
  const [min, max] = STRENGTH_RATIO[row.row] ?? [];
  if (min === undefined) return row;
  return { ...row, strengthRatioMin: min, ...(max === undefined ? {} : { strengthRatioMax: max }) };
};

const [STRONG, LOW, SWELLING] = THICK_CLAY_FRICTION_DEG;
const { ja, jw, srf } = Q_2013.tables;

/**
 * The handbook with φr, and with its notes as adjustments that a log can name. Row H of SRF is one row, as published:
 * H-unfavourable of q-2013 is here the adjustment unfavourable_stress_orientation.
 */
export const Q_2013_2: QEdition = {
  ...Q_2013,
  id: 'q-2013.2',
  title: 'Q-system, NGI handbook 2013; second issue, with φr and the notes as adjustments',
  supersedes: Q_2013.id,
  tables: {
    ...Q_2013.tables,
    ja: {
      ...ja,
      rule: 'φr is the residual friction angle, approximate.',
      rows: withFriction(ja.rows, { N: STRONG, O: LOW, P: SWELLING }),
    },
    jw: {
      ...jw,
      rule: 'Rows C to F are crude estimates; Jw is raised where drainage is installed. Ice is not considered.',
      adjustments: [
        noted(
          'drained',
          ['C', 'D', 'E', 'F'],
          { by: 'value', min: 0.05, max: 1 },
          'Rows C to F are crude estimates: Jw is raised where drainage is installed.',
        ),
      ],
    },
    srf: {
      ...srf,
      rows: srf.rows.filter(({ row }) => row !== 'H-unfavourable').map(withStrengthRatio),
      adjustments: [
        noted(
          'zone_influences_only',
          ['A', 'B', 'C', 'D', 'E'],
          { by: 'percent', min: 25, max: 50 },
          'The weakness zone only influences the opening and does not cross it: SRF is reduced by 25–50 %.',
        ),
        noted(
          'anisotropic_stress',
          Object.keys(STRENGTH_RATIO),
          { by: 'stress' },
          'Strongly anisotropic measured stress: the row is chosen with 0.75·σc where σ1/σ3 is 5–10, with 0.5·σc above 10.',
        ),
        noted(
          'crown_depth_below_span',
          ['F'],
          { by: 'fixed', value: 5 },
          'The crown lies less than the span below the surface: SRF 5 instead of 2.5.',
        ),
        noted(
          'unfavourable_stress_orientation',
          ['H'],
          { by: 'value', min: 2, max: 5 },
          'The orientation of the stress to the jointing is unfavourable: SRF 2–5.',
        ),
      ],
    },
  },
};

import { CONDITION } from './rmr-1989-condition.js';
import {
  band,
  bandAbove,
  classFrom,
  one,
  type RatingRow,
  type RatingTable,
  type RmrEdition,
} from './tables.js';

const SOURCE =
  'Bieniawski 1989, Engineering Rock Mass Classifications, as transcribed after Hoek, Practical Rock Engineering, in two open sources that agree';

const table = (
  id: string,
  title: string,
  rows: readonly RatingRow[],
  more: Pick<RatingTable, 'unit' | 'rule'> = {},
): RatingTable => ({ id, title, ...more, source: SOURCE, mark: 'transcribed', rows });

const LOWER_BOUND = 'The lower bound is in its band, unless the band is published as above it.';

const words = (row: string, description: string): RatingRow => ({ row, description });

export const RMR_1989: RmrEdition = {
  id: 'rmr-1989',
  system: 'rmr',
  title: 'Rock Mass Rating, 1989',
  source: `${SOURCE}; the book itself was not opened`,
  mark: 'transcribed',
  tables: {
    ...CONDITION(SOURCE),
    strength_ucs: table(
      'strength_ucs',
      'R1, strength by UCS',
      [
        band('below_1', 0, 0, '< 1'),
        band('1_5', 1, 1, '1–5'),
        band('5_25', 5, 2, '5–25'),
        band('25_50', 25, 4, '25–50'),
        band('50_100', 50, 7, '50–100'),
        band('100_250', 100, 12, '100–250'),
        bandAbove('above_250', 250, 15, '> 250'),
      ],
      { unit: 'MPa', rule: LOWER_BOUND },
    ),
    strength_point_load: table(
      'strength_point_load',
      'R1, strength by point load index',
      [
        band('1_2', 1, 4, '1–2'),
        band('2_4', 2, 7, '2–4'),
        band('4_10', 4, 12, '4–10'),
        bandAbove('above_10', 10, 15, '> 10'),
      ],
      { unit: 'MPa', rule: `${LOWER_BOUND} Below 1 MPa the UCS is to be used.` },
    ),
    rqd: table(
      'rqd',
      'R2, RQD',
      [
        band('below_25', 0, 3, '< 25'),
        band('25_50', 25, 8, '25–50'),
        band('50_75', 50, 13, '50–75'),
        band('75_90', 75, 17, '75–90'),
        band('90_100', 90, 20, '90–100'),
      ],
      { unit: '%', rule: LOWER_BOUND },
    ),
    spacing: table(
      'spacing',
      'R3, spacing of discontinuities',
      [
        band('below_0.06', 0, 5, '< 0.06'),
        band('0.06_0.2', 0.06, 8, '0.06–0.2'),
        band('0.2_0.6', 0.2, 10, '0.2–0.6'),
        band('0.6_2', 0.6, 15, '0.6–2'),
        bandAbove('above_2', 2, 20, '> 2'),
      ],
      { unit: 'm', rule: LOWER_BOUND },
    ),
    groundwater_inflow: table(
      'groundwater_inflow',
      'R5, groundwater by inflow per 10 m of tunnel',
      [
        band('none', 0, 15, 'None'),
        bandAbove('below_10', 0, 10, '< 10'),
        band('10_25', 10, 7, '10–25'),
        band('25_125', 25, 4, '25–125'),
        bandAbove('above_125', 125, 0, '> 125'),
      ],
      { unit: 'l/min', rule: LOWER_BOUND },
    ),
    groundwater_pressure_ratio: table(
      'groundwater_pressure_ratio',
      'R5, groundwater by joint water pressure over major principal stress',
      [
        band('none', 0, 15, '0'),
        bandAbove('below_0.1', 0, 10, '< 0.1'),
        band('0.1_0.2', 0.1, 7, '0.1–0.2'),
        band('0.2_0.5', 0.2, 4, '0.2–0.5'),
        bandAbove('above_0.5', 0.5, 0, '> 0.5'),
      ],
      { unit: '-', rule: LOWER_BOUND },
    ),
    groundwater_state: table('groundwater_state', 'R5, groundwater by its state', [
      one('dry', 15, 'Completely dry'),
      one('damp', 10, 'Damp'),
      one('wet', 7, 'Wet'),
      one('dripping', 4, 'Dripping'),
      one('flowing', 0, 'Flowing'),
    ]),
    orientation: table('orientation', 'R6, orientation of discontinuities, tunnels', [
      one('very_favourable', 0, 'Very favourable'),
      one('favourable', -2, 'Favourable'),
      one('fair', -5, 'Fair'),
      one('unfavourable', -10, 'Unfavourable'),
      one('very_unfavourable', -12, 'Very unfavourable'),
    ]),
    strike_and_dip: table('strike_and_dip', 'Orientation by strike against the axis, and dip [°]', [
      words('perpendicular_with_dip_45_90', 'Strike across the axis, drive with dip, 45–90: very favourable'),
      words('perpendicular_with_dip_20_45', 'Strike across the axis, drive with dip, 20–45: favourable'),
      words('perpendicular_against_dip_45_90', 'Strike across the axis, drive against dip, 45–90: fair'),
      words(
        'perpendicular_against_dip_20_45',
        'Strike across the axis, drive against dip, 20–45: unfavourable',
      ),
      words('parallel_45_90', 'Strike along the axis, 45–90: very unfavourable'),
      words('parallel_20_45', 'Strike along the axis, 20–45: fair'),
      words('any_0_20', 'Any strike, 0–20: fair'),
    ]),
    classes: table(
      'classes',
      'Classes by RMR; stand-up time, cohesion [kPa] and friction angle [°] as published',
      [
        words('V', 'Very poor, 20 and less: 30 min for 1 m; c < 100, φ < 15'),
        classFrom('IV', 21, 'Poor: 10 h for 2.5 m; c 100–200, φ 15–25'),
        classFrom('III', 41, 'Fair: 1 week for 5 m; c 200–300, φ 25–35'),
        classFrom('II', 61, 'Good: 1 year for 10 m; c 300–400, φ 35–45'),
        classFrom('I', 81, 'Very good: 20 years for 15 m; c > 400, φ > 45'),
      ],
      {
        rule: 'A total that is no whole number belongs to the class whose lower bound (21, 41, 61, 81) it reaches: 80.4 is class II. The original is silent; this is the cautious way.',
      },
    ),
    support_guide: table(
      'support_guide',
      'Support as published with the classes',
      [
        words('I', 'Generally none but spot bolting'),
        words(
          'II',
          'Local bolts in the crown, 3 m long at 2.5 m; 50 mm of sprayed concrete in the crown where required',
        ),
        words(
          'III',
          'Bolts 4 m long at 1.5–2 m; 50–100 mm of sprayed concrete in the crown, 30 mm on the walls',
        ),
        words(
          'IV',
          'Bolts 4–5 m long at 1–1.5 m; 100–150 mm in the crown, 100 mm on the walls; light ribs at 1.5 m where required',
        ),
        words(
          'V',
          'Bolts 5–6 m long at 1–1.5 m; 150–200 mm in the crown, 150 mm on the walls, 50 mm on the face; heavy ribs at 0.75 m',
        ),
      ],
      {
        rule: '10 m horseshoe, drill and blast, vertical stress below 25 MPa; not for TBM bores, which usually need less.',
      },
    ),
  },
};

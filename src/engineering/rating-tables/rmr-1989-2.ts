import { RMR_1989 } from './rmr-1989.js';
import { one, type RatingRow, type RatingTable, type RmrEdition, type SupportRow } from './tables.js';

const { tables } = RMR_1989;

const EXCLUSIVE =
  'Not where the opening is above 5 mm or the filling soft and above 5 mm: roughness is masked there, and the short table is used.';

/** The same rows, with what excludes them. */
const exclusive = (table: RatingTable): RatingTable => ({
  ...table,
  rule: [table.rule, EXCLUSIVE].filter(Boolean).join(' '),
});

const guide = (row: string, support: SupportRow): RatingRow => ({
  row,
  description: `${support.excavation}. Bolts: ${support.bolts}. Sprayed concrete: ${support.sprayedConcrete}. Ribs: ${support.ribs}`,
  support,
});

/** 1989 with the support guide by whole rows, R6 by strike and dip as ratings, and the rows of R4 that exclude each other. */
export const RMR_1989_2: RmrEdition = {
  ...RMR_1989,
  id: 'rmr-1989.2',
  title: 'Rock Mass Rating, 1989; second issue, with the whole support guide',
  supersedes: RMR_1989.id,
  tables: {
    ...tables,
    persistence: exclusive(tables.persistence),
    aperture: exclusive(tables.aperture),
    roughness: exclusive(tables.roughness),
    infilling: exclusive(tables.infilling),
    weathering: exclusive(tables.weathering),
    strike_and_dip: {
      ...tables.strike_and_dip,
      title: 'R6 by strike against the axis, and dip [°]',
      rule: 'A proposal: the table has strikes across and along the axis only; which of them is nearer counts. The lower bound of the dip is in its band.',
      rows: [
        one(
          'perpendicular_with_dip_45_90',
          0,
          'Strike across the axis, drive with dip, 45–90: very favourable',
        ),
        one('perpendicular_with_dip_20_45', -2, 'Strike across the axis, drive with dip, 20–45: favourable'),
        one('perpendicular_against_dip_45_90', -5, 'Strike across the axis, drive against dip, 45–90: fair'),
        one(
          'perpendicular_against_dip_20_45',
          -10,
          'Strike across the axis, drive against dip, 20–45: unfavourable',
        ),
        one('parallel_45_90', -12, 'Strike along the axis, 45–90: very unfavourable'),
        one('parallel_20_45', -5, 'Strike along the axis, 20–45: fair'),
        one('any_0_20', -5, 'Any strike, 0–20: fair'),
      ],
    },
    support_guide: {
      ...tables.support_guide,
      title: 'Excavation and support as published with the classes',
      rule: 'For a 10 m horseshoe, drill and blast, vertical stress below 25 MPa; bolts of 20 mm, fully grouted. Not for machine bores, which usually need less.',
      mark: 'memory',
      rows: [
        guide('I', {
          excavation: 'Full face, 3 m advance',
          bolts: 'generally none but spot bolts',
          sprayedConcrete: 'none',
          ribs: 'none',
        }),
        guide('II', {
          excavation: 'Full face, 1–1.5 m advance; complete support 20 m from the face',
          bolts: 'local, in the crown, 3 m long at 2.5 m, with occasional mesh',
          sprayedConcrete: '50 mm in the crown where required',
          ribs: 'none',
        }),
        guide('III', {
          excavation:
            'Top heading and bench, 1.5–3 m advance in the heading; begin support after each blast, complete it 10 m from the face',
          bolts: 'systematic, 4 m long at 1.5–2 m in crown and walls, with mesh in the crown',
          sprayedConcrete: '50–100 mm in the crown, 30 mm on the sides',
          ribs: 'none',
        }),
        guide('IV', {
          excavation:
            'Top heading and bench, 1–1.5 m advance in the heading; install support with the excavation, 10 m from the face',
          bolts: 'systematic, 4–5 m long at 1–1.5 m in crown and walls, with mesh',
          sprayedConcrete: '100–150 mm in the crown, 100 mm on the sides',
          ribs: 'light to medium at 1.5 m where required',
        }),
        guide('V', {
          excavation:
            'Multiple drifts, 0.5–1.5 m advance in the heading; install support with the excavation, sprayed concrete at once after blasting',
          bolts: 'systematic, 5–6 m long at 1–1.5 m in crown and walls, with mesh; bolt the invert',
          sprayedConcrete: '150–200 mm in the crown, 150 mm on the sides, 50 mm on the face',
          ribs: 'medium to heavy at 0.75 m with steel lagging, and forepoling if required; close the invert',
        }),
      ],
    },
  },
};

import { bandAbove, classFrom, type StrengthEdition } from './tables.js';

const SOURCE =
  'ISRM 1978, Suggested methods for the quantitative description of discontinuities in rock masses, Int. J. Rock Mech. Min. Sci. 15, 319–368';

const { row, description, from, above } = bandAbove('R6', 250, 0, 'Extremely strong: > 250');

export const ISRM_1978: StrengthEdition = {
  id: 'isrm-1978',
  system: 'strength',
  title: 'Strength of intact rock, ISRM 1978',
  source: SOURCE,
  mark: 'memory',
  tables: {
    classes: {
      id: 'classes',
      title: 'Classes by UCS',
      unit: 'MPa',
      rule: 'The lower bound is in the class, unless it is published as above it. Below 0.25 MPa there is no class of rock.',
      source: SOURCE,
      mark: 'memory',
      rows: [
        classFrom('R0', 0.25, 'Extremely weak: 0.25–1'),
        classFrom('R1', 1, 'Very weak: 1–5'),
        classFrom('R2', 5, 'Weak: 5–25'),
        classFrom('R3', 25, 'Medium strong: 25–50'),
        classFrom('R4', 50, 'Strong: 50–100'),
        classFrom('R5', 100, 'Very strong: 100–250'),
        { row, description, from, above },
      ],
    },
  },
};

import { JA_CONTACT, JA_CRUSHED, JA_THICK, JN, JOINT_SOURCE, JR } from './q-joints.js';
import { Q_CLASSES } from './q-classes.js';
import { one, type QEdition, range } from './tables.js';

const ZONES = 'a. Weakness zones that cross the excavation';
const COMPETENT = 'b. Competent rock, rock stress problems';
const SQUEEZING = 'c. Squeezing rock';
const SWELLING = 'd. Swelling rock';

export const Q_1974: QEdition = {
  id: 'q-1974',
  system: 'q',
  title: 'Q-system, 1974',
  source:
    'Barton, Lien and Lunde 1974, Rock Mechanics 6, 189–236; not opened. The letters of SRF and of thick fillings are from memory',
  mark: 'memory',
  tables: {
    jn: JN,
    jr: JR,
    ja: {
      id: 'ja',
      title: 'Ja, joint alteration number',
      source: `${JOINT_SOURCE}; the letters of group c from memory`,
      mark: 'transcribed',
      rows: [
        ...JA_CONTACT,
        ...JA_CRUSHED,
        one('N', 5, 'Silty or sandy clay bands, small clay part, non-softening', JA_THICK),
        one('O', 10, 'Thick continuous clay, strongly over-consolidated', JA_THICK),
        one('P', 13, 'Thick continuous clay, medium or low over-consolidated', JA_THICK),
        range('R', 13, 20, 'Thick continuous swelling clay', JA_THICK),
      ],
    },
    jw: {
      id: 'jw',
      title: 'Jw, joint water reduction factor',
      rule: 'Pressures are approximate [kg/cm²].',
      source: JOINT_SOURCE,
      mark: 'transcribed',
      rows: [
        one('A', 1, 'Dry or minor inflow, < 5 l/min locally; < 1'),
        one('B', 0.66, 'Medium inflow or pressure, some outwash of fillings; 1–2.5'),
        one('C', 0.5, 'Large inflow or high pressure, competent rock, unfilled joints; 2.5–10'),
        one('D', 0.33, 'Large inflow or high pressure, considerable outwash of fillings; 2.5–10'),
        range('E', 0.1, 0.2, 'Exceptionally high inflow or pressure, decaying with time; > 10'),
        range('F', 0.05, 0.1, 'Exceptionally high inflow or pressure, not decaying; > 10'),
      ],
    },
    srf: {
      id: 'srf',
      title: 'SRF, stress reduction factor',
      rule: 'σc strength of the rock, σ1 major principal stress, σθ largest tangential stress.',
      source:
        'Barton, Lien and Lunde 1974; values of groups a, c, d transcribed, group b and the letters from memory',
      mark: 'memory',
      rows: [
        one('A', 10, 'Multiple zones with clay or chemically disintegrated rock, any depth', ZONES),
        one('B', 5, 'Single zone with clay or chemically disintegrated rock, depth ≤ 50 m', ZONES),
        one('C', 2.5, 'Single zone with clay or chemically disintegrated rock, depth > 50 m', ZONES),
        one(
          'D',
          7.5,
          'Multiple shear zones in competent clay-free rock, loose surroundings, any depth',
          ZONES,
        ),
        one('E', 5, 'Single shear zone in competent clay-free rock, depth ≤ 50 m', ZONES),
        one('F', 2.5, 'Single shear zone in competent clay-free rock, depth > 50 m', ZONES),
        one('G', 5, 'Loose, open joints, heavily jointed, any depth', ZONES),
        one('H', 2.5, 'Low stress, near surface: σc/σ1 > 200', COMPETENT),
        one('J', 1, 'Medium stress: σc/σ1 200–10', COMPETENT),
        range('K', 0.5, 2, 'High stress, very tight: σc/σ1 10–5', COMPETENT),
        range('L', 5, 10, 'Mild rock burst, massive rock: σc/σ1 5–2.5', COMPETENT),
        range('M', 10, 20, 'Heavy rock burst, massive rock: σc/σ1 < 2.5', COMPETENT),
        range('N', 5, 10, 'Mild squeezing', SQUEEZING),
        range('O', 10, 20, 'Heavy squeezing', SQUEEZING),
        range('P', 5, 10, 'Mild swelling', SWELLING),
        range('R', 10, 15, 'Heavy swelling', SWELLING),
      ],
    },
    classes: Q_CLASSES,
  },
};

import { JA_CONTACT, JA_CRUSHED, JA_THICK, JN, JOINT_SOURCE, JR } from './q-joints.js';
import { Q_CLASSES } from './q-classes.js';
import { one, type QEdition, range } from './tables.js';

const HANDBOOK = 'NGI, Using the Q-system (handbook 2013, 2022), as transcribed in open sources';

const ZONES = 'a. Weakness zones that cross the excavation';
const COMPETENT = 'b. Competent rock, stress problems';
const SQUEEZING = 'c. Squeezing rock';
const SWELLING = 'd. Swelling rock';

export const Q_2013: QEdition = {
  id: 'q-2013',
  system: 'q',
  title: 'Q-system, NGI handbook 2013',
  source: `${HANDBOOK}; the handbook itself was not opened. Stress ratios and the letters of squeezing and swelling are from memory`,
  mark: 'transcribed',
  tables: {
    jn: JN,
    jr: JR,
    ja: {
      id: 'ja',
      title: 'Ja, joint alteration number',
      source: JOINT_SOURCE,
      mark: 'transcribed',
      rows: [
        ...JA_CONTACT,
        ...JA_CRUSHED,
        one('N', 10, 'Thick continuous clay, strongly over-consolidated', JA_THICK),
        one('O', 13, 'Thick continuous clay, medium or low over-consolidated', JA_THICK),
        range('P', 13, 20, 'Thick continuous swelling clay', JA_THICK),
      ],
    },
    jw: {
      id: 'jw',
      title: 'Jw, joint water reduction factor',
      source: HANDBOOK,
      mark: 'transcribed',
      rows: [
        one('A', 1, 'Dry or minor inflow: humid or a few drips'),
        one('B', 0.66, 'Medium inflow, some outwash of fillings: many drips, “rain”'),
        one('C', 0.5, 'Jet inflow or high pressure in competent rock with unfilled joints'),
        one('D', 0.33, 'Large inflow or high pressure, considerable outwash of fillings'),
        range('E', 0.1, 0.2, 'Exceptionally high inflow or pressure, decaying with time'),
        range('F', 0.05, 0.1, 'Exceptionally high inflow or pressure, not decaying'),
      ],
    },
    srf: {
      id: 'srf',
      title: 'SRF, stress reduction factor',
      rule: 'σc strength of the rock, σ1 major principal stress, σθ largest tangential stress.',
      source: `${HANDBOOK}; the stress ratios from memory`,
      mark: 'transcribed',
      rows: [
        one(
          'A',
          10,
          'Multiple zones with clay or chemically disintegrated rock in a short section, any depth, or long sections of incompetent rock',
          ZONES,
        ),
        one(
          'B',
          7.5,
          'Multiple shear zones in a short section of competent clay-free rock, loose surroundings',
          ZONES,
        ),
        one('C', 5, 'Single weakness zone with or without clay, depth ≤ 50 m', ZONES),
        one('D', 5, 'Loose, open joints, heavily jointed, any depth', ZONES),
        one('E', 2.5, 'Single weakness zone with or without clay, depth > 50 m', ZONES),
        one('F', 2.5, 'Low stress, near surface, open joints: σc/σ1 > 200, σθ/σc < 0.01', COMPETENT),
        one('G', 1, 'Medium, favourable stress: σc/σ1 200–10, σθ/σc 0.01–0.3', COMPETENT),
        range('H', 0.5, 2, 'High stress, very tight: σc/σ1 10–5, σθ/σc 0.3–0.4', COMPETENT),
        range('H-unfavourable', 2, 5, 'As H, the orientation of stress to jointing unfavourable', COMPETENT),
        range(
          'J',
          5,
          50,
          'Moderate spalling after more than 1 h, massive rock: σc/σ1 5–3, σθ/σc 0.5–0.65',
          COMPETENT,
        ),
        range(
          'K',
          50,
          200,
          'Spalling or rock burst after minutes, massive rock: σc/σ1 3–2, σθ/σc 0.65–1',
          COMPETENT,
        ),
        range(
          'L',
          200,
          400,
          'Heavy rock burst, immediate deformation, massive rock: σc/σ1 < 2, σθ/σc > 1',
          COMPETENT,
        ),
        range('M', 5, 10, 'Mild squeezing: σθ/σc 1–5', SQUEEZING),
        range('N', 10, 20, 'Heavy squeezing: σθ/σc > 5', SQUEEZING),
        range('O', 5, 10, 'Mild swelling', SWELLING),
        range('P', 10, 15, 'Heavy swelling', SWELLING),
      ],
    },
    esr: {
      id: 'esr',
      title: 'ESR, excavation support ratio',
      rule: 'Editions differ for minor tunnels, storage and class G: say which ESR was taken.',
      source: HANDBOOK,
      mark: 'transcribed',
      rows: [
        range('A', 3, 5, 'Temporary mine openings'),
        one('B-circular', 2.5, 'Vertical shafts, circular'),
        one('B-rectangular', 2, 'Vertical shafts, rectangular'),
        one(
          'C',
          1.6,
          'Permanent mine openings, water tunnels for hydropower but high-pressure penstocks, water supply, pilot tunnels, drifts',
        ),
        one('D', 1.3, 'Minor road and rail tunnels, surge chambers, access tunnels, sewage tunnels'),
        one(
          'E',
          1,
          'Power houses, storage, water treatment, major road and rail tunnels, civil defence, portals, intersections',
        ),
        one('F', 0.8, 'Nuclear power stations, rail stations, sports and public halls, factories'),
        one('G', 0.5, 'Very important, with a life of about 100 years or without access for maintenance'),
      ],
    },
    classes: Q_CLASSES,
  },
};
